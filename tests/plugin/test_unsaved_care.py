"""Unsaved marks beside a full disk, a file that is held or strange, and a record that belongs to other pixels."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.marked_dock import CANAL, mark
from napari.components import ViewerModel
from qtpy.QtWidgets import QMessageBox

from napari_radlength._convert import IMAGE_KEY
from napari_radlength._marking import Marker
from napari_radlength._section_record import OTHER
from radlength.errors import RecordError
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path


@pytest.fixture
def session(image_file):
    """A session with marks."""
    made = Session.open(image_file)
    mark(made)
    return made


def unsaved_files(image):
    return sorted(path.name for path in image.parent.glob("*.unsaved"))


def exchange(image):
    """Put another image in place of one, its record left behind."""
    cv2.imwrite(str(image), cv2.imread(str(image), cv2.IMREAD_GRAYSCALE)[:, ::-1])


def test_a_full_disk_leaves_no_empty_file_and_takes_no_place(session, image_file, monkeypatch):
    def full(*_words):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("radlength.session.unsaved.put_whole", full)
        for _ in range(12):
            with pytest.raises(RecordError, match="No space left"):
                session.keep_unsaved()
    assert unsaved_files(image_file) == []
    session.keep_unsaved()
    assert unsaved_files(image_file) == [unsaved_path(image_file).name]


def test_a_file_that_another_program_holds_fails_no_save(session, image_file, monkeypatch):
    session.keep_unsaved()

    def held(path, **_words):
        raise PermissionError(13, "held by another program", str(path))

    with monkeypatch.context() as patch:
        patch.setattr(Path, "unlink", held)
        session.save()
    assert load_record(image_file).canals
    assert session.find_unsaved() is None
    session.keep_unsaved()
    assert unsaved_files(image_file) == []


def test_a_file_nested_without_end_is_said(image_file):
    unsaved_path(image_file).write_text("[" * 100_000)
    with pytest.raises(RecordError, match="cannot be read"):
        Session.open(image_file).find_unsaved()


@pytest.mark.parametrize("number", ["NaN", "1e999"])
def test_a_file_with_what_is_no_number_is_said(session, image_file, number):
    session.keep_unsaved()
    path = unsaved_path(image_file)
    path.write_text(path.read_text().replace("150.0", number, 1))
    with pytest.raises(RecordError, match="cannot be read"):
        Session.open(image_file).find_unsaved()


def test_a_file_that_goes_while_it_is_looked_for_is_none(image_file, monkeypatch):
    monkeypatch.setattr(Path, "is_file", lambda _path: True)
    assert Session.open(image_file).find_unsaved() is None


def test_dropping_one_file_shows_the_next(session, image_file, make_dock):
    other = Session.open(image_file)
    other.apply(other.with_canal(tooth="21", path_px=tuple(CANAL[:3])))
    for one in (session, other):
        one.keep_unsaved()
    dock = make_dock(ViewerModel())
    dock.show_session(Session.open(image_file))
    for left in (1, 0):
        dock.recovery.leave.click()
        assert len(unsaved_files(image_file)) == left
        assert dock.recovery.isVisible() == bool(left)


def test_one_refused_save_on_closing_keeps_no_other_from_the_disk(
    session, image_file, make_dock, said, monkeypatch
):
    images = image_file, image_file.with_name("second.png")
    images[1].write_bytes(image_file.read_bytes())
    session.save()
    exchange(image_file)
    dock = make_dock(ViewerModel())
    dock.ask_on_close = True
    for image in images:
        dock.show_session(Session.open(image, show_other=True))
        mark(dock.session)
    monkeypatch.setattr(dock, "_ask", lambda _words: QMessageBox.StandardButton.Save)
    assert not dock.may_close()
    assert record_path(images[1]).exists()
    assert len(said) == 1


@pytest.mark.parametrize("moved", [True, False])
def test_a_record_of_other_pixels_that_is_moved_or_bound_is_in_the_way_no_longer(
    session, image_file, said, make_dock, moved
):
    session.save()
    exchange(image_file)
    dock = make_dock(ViewerModel())
    dock.open_images([image_file])
    assert dock.record.words.text() == OTHER
    assert OTHER in dock.record.report.toolTip()
    assert not dock.record.report.isEnabled()
    mark(dock.session)
    if moved:
        record_path(image_file).unlink()
        dock.save()
        assert said == []
        assert dock.session.other_marks is None
        assert dock.record.words.text() == "all marks are in the record"
        return
    from radlength.imaging import read_radiograph
    from radlength.record import save_record

    save_record(
        load_record(image_file).rebind(read_radiograph(image_file), who="invented person"), image_file
    )
    dock.save()
    assert "nothing was written" in said[-1]
    dock.recovery.bring.click()
    assert dock.session.other_marks is None
    assert dock.recovery.isVisible()


def test_a_record_read_again_stands_on_the_pixels_it_was_made_on(marked, image_file):
    exchange(image_file)
    other = Session.open(image_file)
    mark(other)
    other.save()
    marked.save()
    marked.recovery.bring.click()
    assert marked.session.radiograph.pixel_sha256 == other.radiograph.pixel_sha256
    assert [one.metadata[IMAGE_KEY] for one in marked.viewer.layers if IMAGE_KEY in one.metadata] == [
        marked.session.radiograph
    ]
    assert "made on another picture" in marked.recovery.words.text()


def test_keys_place_and_move_no_point_outside_and_none_twice(session):
    marker = Marker(session)
    marker.assist = False
    marker.use("canal")
    for _ in range(12):
        marker.place((199.5, 149.5))
    points = marker.handles("canal")
    assert len(set(points)) == len(points)
    assert "edge of the image" in marker.note
    for _ in range(12):
        marker.nudge(10.0, 0.0)
    assert "stays on it" in marker.note
    assert all(0 <= row <= 399.5 and 0 <= column <= 299.5 for row, column in marker.handles("canal"))
    marker.nudge(-10.0, 0.0)
    assert marker.note == ""


def test_a_point_outside_comes_back_by_keys(session):
    marker = Marker(session)
    marker.assist = False
    marker.keep("canal", [*CANAL[:-1], (430.0, 150.0)])
    marker.tool = "canal"
    for _ in range(4):
        marker.nudge(-10.0, 0.0)
    assert marker.handles("canal")[-1] == (390.0, 150.0)


def test_an_image_laid_over_the_one_shown_is_not_said_to_be_at_the_left(folder, make_dock):
    viewer = ViewerModel()
    dock = make_dock(viewer)
    dock.open_images(sorted(folder.glob("*.png"))[:2])
    dock.next_image()
    dock.toggle_beside()
    assert dock._beside_words().startswith("Left: ")
    dock.toggle_beside()
    assert dock._beside_words() == ""
    for layer in viewer.layers:
        layer.visible = True
    assert dock._beside_words() == ""
    assert np.all([layer.translate[-1] == 0 for layer in viewer.layers])
