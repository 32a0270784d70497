"""Unsaved marks are found again after a crash, and never taken for a record."""

import json

import pytest
from helpers.drawn_canal import CLICKS, canal_pixels, write_pixels

from radlength.errors import RecordError
from radlength.length import Terminus
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path


@pytest.fixture
def image(tmp_path):
    return write_pixels(tmp_path / "tooth.png", canal_pixels())


@pytest.fixture
def session(image):
    session = Session.open(image)
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_canal_path(CLICKS))
    session.propose()
    session.accept()
    session.apply(session.with_canal(terminus=Terminus(offset_mm=1.0), colour="#009e73"))
    session.add_canal("11", "half")
    session.apply(session.with_canal_path(CLICKS[:1]))
    return session


def test_unsaved_marks_come_back_as_they_were(session, image):
    session.keep_unsaved()
    again = Session.open(image)
    found = again.unsaved()
    assert found == session.annotation
    again.apply(found)
    again.undo()
    assert again.annotation.canal.path_px == ()


def test_they_go_when_the_record_is_saved(session, image):
    session.keep_unsaved()
    assert unsaved_path(image).exists()
    session.apply(session.with_canal_path(CLICKS))
    session.save()
    session.keep_unsaved()
    assert not unsaved_path(image).exists()
    assert Session.open(image).unsaved() is None


def test_what_no_record_can_hold_yet_is_kept_after_saving(session, image):
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0))))
    session.save()
    assert not session.is_dirty
    assert session.left_out == ("reference 1 (length missing)", "11 half (one point)")
    found = Session.open(image).find_unsaved()
    assert found.marks == session.annotation
    assert not found.saved_since


def test_a_reference_whose_length_was_taken_away_measures_nothing_more(session, image):
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    session.save()
    assert load_record(image).references[0].length_mm == 12.0
    session.apply(session.with_reference(length_mm=None))
    session.save()
    record = load_record(image)
    assert record.references == ()
    assert [entry.reference for entry in record.canals] == [None]


def test_what_another_session_left_is_neither_written_over_nor_taken_away(session, image):
    session.keep_unsaved()
    left = unsaved_path(image).read_bytes()
    other = Session.open(image)
    other.keep_unsaved()
    assert unsaved_path(image).read_bytes() == left
    other.apply(other.with_canal(tooth="21", path_px=tuple(CLICKS)))
    other.keep_unsaved()
    assert unsaved_path(image).read_bytes() == left
    assert json.loads(unsaved_path(image, number=2).read_text())["marks"]["canals"][0]["tooth"] == "21"
    other.save()
    assert unsaved_path(image).read_bytes() == left
    assert not unsaved_path(image, number=2).exists()
    found = other.find_unsaved()
    assert found.saved_since
    assert found.marks == session.annotation
    other.take_over(found)
    other.keep_unsaved()
    assert not unsaved_path(image).exists()
    session.keep_unsaved()
    assert unsaved_path(image).read_bytes() == left


def test_nine_files_of_unsaved_marks_are_enough(session, image):
    for number in range(1, 10):
        unsaved_path(image, number=number).write_text("{")
    with pytest.raises(RecordError, match="9 files of them lie beside the image"):
        session.keep_unsaved()


@pytest.mark.parametrize("number", [0, 2, 99])
def test_another_version_is_said_and_stays(session, image, number):
    session.keep_unsaved()
    path = unsaved_path(image)
    path.write_text(path.read_text().replace('"version": 1', f'"version": {number}'))
    again = Session.open(image)
    with pytest.raises(RecordError, match="cannot be read"):
        again.unsaved()
    again.keep_unsaved()
    assert f'"version": {number}' in path.read_text()


def test_they_are_no_record_and_carry_the_caution(session, image):
    session.keep_unsaved()
    assert not record_path(image).exists()
    assert "estimate" in json.loads(unsaved_path(image).read_text())["caution"]
    assert list(image.parent.glob("*.part")) == []


def test_marks_of_other_pixels_are_not_offered(session, image):
    session.keep_unsaved()
    write_pixels(image, canal_pixels(seed=9))
    again = Session.open(image)
    assert again.unsaved() is None
    assert again.find_unsaved().path == unsaved_path(image)
    again.keep_unsaved()
    assert unsaved_path(image).exists()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text[: len(text) // 2],
        lambda text: "[]",
        lambda text: text.replace('"current": 1', '"current": 7'),
        lambda text: text.replace('"tooth": "11"', '"tooth": 11'),
        lambda text: text.replace('"offset_mm": 1.0', '"offset_mm": 99.0'),
        lambda text: text.replace('"hidden"', '"seen"'),
        lambda text: " " * 5_000_001,
    ],
    ids=["cut off", "another thing", "no such canal", "a number", "impossible", "unknown key", "huge"],
)
def test_what_cannot_be_read_is_said_and_stays(session, image, spoil):
    session.keep_unsaved()
    path = unsaved_path(image)
    path.write_text(spoil(path.read_text()))
    kept = path.read_text()
    with pytest.raises(RecordError, match="unsaved marks of an earlier time cannot be read"):
        Session.open(image).unsaved()
    assert path.read_text() == kept


def test_a_folder_that_cannot_be_written_is_said(session, image, tmp_path):
    (tmp_path / "file").write_text("")
    session.records_dir = tmp_path / "file"
    with pytest.raises(RecordError, match="unsaved marks cannot be kept"):
        session.keep_unsaved()


def test_an_image_that_is_no_file_keeps_nothing():
    from radlength.imaging import Radiograph

    session = Session(Radiograph.from_array(canal_pixels()))
    session.apply(session.with_canal_path(CLICKS))
    session.keep_unsaved()
    assert session.unsaved() is None
