"""A record that belongs to other pixels: its marks are seen, they give no number, and nothing is saved over them."""

import cv2
import numpy as np
import pytest
from helpers.marked_dock import mark
from napari.components import ViewerModel

from napari_radlength._palette import OTHER
from napari_radlength._viewer import words_overlay
from radlength.errors import RecordError
from radlength.record import record_path
from radlength.session import Session


@pytest.fixture
def exchanged(image_file):
    """The image exchanged for another one of the same name, its record left behind."""
    session = Session.open(image_file)
    mark(session)
    session.save()
    grey = cv2.imread(str(image_file), cv2.IMREAD_GRAYSCALE)
    cv2.imwrite(str(image_file), grey[:, ::-1])
    return image_file


def test_the_core_refuses_it_unless_it_is_to_be_shown(exchanged):
    with pytest.raises(RecordError, match="made on another image"):
        Session.open(exchanged)
    session = Session.open(exchanged, show_other=True)
    assert len(session.other_marks.canals[0].path_px) > 2
    assert not session.annotation.canal.path_px
    assert session.estimate()[0] is None


def test_the_window_draws_it_dashed_with_a_sentence_and_without_a_number(exchanged, make_dock):
    viewer = ViewerModel()
    dock = make_dock(viewer)
    dock.open_images([exchanged])
    wanted = {tuple(int(one[at : at + 2], 16) for at in (1, 3, 5)) for one in OTHER}
    drawn = np.rint(viewer.layers["other curves"].edge_color[:, :3] * 255).astype(int)
    assert set(map(tuple, drawn.tolist())) == wanted
    assert "belongs to another image" in words_overlay(viewer).text
    assert dock.headline.length.text() == "no length yet"
    assert "lengths" not in viewer.layers or not len(viewer.layers["lengths"].data)


def test_new_marks_are_not_saved_over_it(exchanged, make_dock, said):
    before = record_path(exchanged).read_bytes()
    dock = make_dock(ViewerModel())
    dock.open_images([exchanged])
    mark(dock.session)
    dock.save()
    assert "--rebind" in said[-1]
    assert record_path(exchanged).read_bytes() == before
