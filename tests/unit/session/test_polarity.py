"""A file that stores bone dark and does not say so: said by a person, an instrument in it is found without a doubt."""

import numpy as np
import pytest
import tifffile
from helpers.drawn_canal import CLICKS, STOP, TIP, canal_pixels, instrument_pixels, write_pixels

from radlength.errors import ImageError
from radlength.session import Session


def turned_over(pixels):
    return (pixels.max() - pixels).astype(pixels.dtype)


@pytest.fixture
def session(tmp_path):
    return Session.open(write_pixels(tmp_path / "inverted.png", turned_over(instrument_pixels())))


def test_a_dark_instrument_is_doubted_until_somebody_says_that_bone_is_dark(session):
    session.apply(session.with_reference_path([STOP, TIP]))
    doubted = session.propose("reference")
    assert not doubted.trusted
    assert "instrument-dark" in [one.code for one in doubted.findings]
    session.say_inverted(True)
    found = session.propose("reference")
    assert found.trusted
    assert "instrument-dark" not in [one.code for one in found.findings]
    assert np.hypot(*np.subtract(found.path_px[-1], TIP)) < 4


def test_a_trace_is_that_of_the_image_as_it_is_usually_stored(tmp_path):
    usual = Session.open(write_pixels(tmp_path / "usual.png", canal_pixels()))
    other = Session.open(write_pixels(tmp_path / "inverted.png", turned_over(canal_pixels())))
    for one in (usual, other):
        one.apply(one.with_canal_path(CLICKS))
    expected = usual.propose("canal")
    before = other.propose("canal")
    other.say_inverted(True)
    found = other.propose("canal")
    np.testing.assert_allclose(found.line_px, expected.line_px, atol=0.05)
    assert found.confidence == pytest.approx(expected.confidence, abs=0.01)
    assert found is not before


def test_pixels_and_record_know_nothing_of_it(session):
    before = session.radiograph.pixel_sha256
    session.say_inverted(True)
    assert session.radiograph.pixel_sha256 == before
    assert session.measured_image.facts.photometric == "MONOCHROME2"
    assert not session.is_dirty


def test_the_record_says_of_what_was_found_that_somebody_called_the_image_inverted(session):
    session.say_inverted(True)
    session.apply(session.with_reference_path([STOP, TIP]))
    session.propose("reference")
    session.accept()
    assert {one.method for one in session.annotation.reference.assists} == {"instrument tip, inverted image"}


def test_a_file_that_says_it_itself_is_not_turned_twice(tmp_path):
    path = tmp_path / "says.tif"
    tifffile.imwrite(path, turned_over(canal_pixels()), photometric="miniswhite")
    with pytest.raises(ImageError, match="the file itself says"):
        Session.open(path).say_inverted(True)
