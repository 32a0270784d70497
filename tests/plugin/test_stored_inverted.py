"""A file without a header that stores bone dark: said once, it is shown and traced as it is."""

from dataclasses import replace

import numpy as np
import pytest
from helpers.drawn_canal import STOP, TIP, instrument_pixels, write_pixels

from radlength.imaging import Radiograph
from radlength.session import Session


@pytest.fixture
def doubted(dock, tmp_path):
    """A dock with an open proposal of an instrument on a picture stored the other way round."""
    pixels = instrument_pixels()
    path = write_pixels(tmp_path / "inverted.png", (pixels.max() - pixels).astype(pixels.dtype))
    dock.show_session(Session.open(path))
    dock.marker.keep("reference", [STOP, TIP])
    assert not dock.session.proposal.trusted
    return dock


def colormap(dock):
    return dock.layers.image.colormap.name


def test_saying_it_shows_the_image_and_what_is_proposed_anew(doubted):
    assert colormap(doubted) == "gray"
    doubted.image.stored.click()
    assert doubted.session.inverted
    assert doubted.session.proposal.trusted
    assert colormap(doubted) == "gray_r"
    doubted.toggle_invert()
    assert colormap(doubted) == "gray"
    doubted.toggle_invert()
    doubted.image.stored.click()
    assert not doubted.session.proposal.trusted
    assert colormap(doubted) == "gray"


def test_each_image_has_its_own(doubted, image_file):
    inverted = doubted.session
    doubted.image.stored.click()
    doubted.show_session(Session.open(image_file))
    assert not doubted.image.stored.isChecked()
    assert colormap(doubted) == "gray"
    doubted.show_session(inverted)
    assert doubted.image.stored.isChecked()
    assert colormap(doubted) == "gray_r"


def test_a_header_that_tells_it_is_not_asked(dock, image_file):
    dock.show_session(Session.open(image_file))
    assert dock.image.stored.isVisibleTo(dock)
    told = Radiograph.from_array(np.zeros((40, 30), np.uint8), name="told.dcm")
    dock.show_session(Session(replace(told, facts=replace(told.facts, format="dicom"))))
    assert not dock.image.stored.isVisibleTo(dock)
