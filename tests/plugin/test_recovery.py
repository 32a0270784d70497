"""Marks that were never saved: seen when the image is opened again, and lost to no other file, window or program."""

import cv2
import numpy as np
import pytest
from helpers.marked_dock import CANAL, mark
from napari.components import ViewerModel
from qtpy.QtCore import QThreadPool
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path

OTHER = [(60.0, 100.0), (200.0, 100.0), (340.0, 100.0)]


@pytest.fixture
def killed(image_file):
    """The image, with marks that a killed process left."""
    session = Session.open(image_file)
    mark(session)
    session.keep_unsaved()
    return image_file


@pytest.fixture
def open_again(make_dock):
    def opened(path):
        dock = make_dock(ViewerModel())
        dock.show_session(Session.open(path))
        return dock

    return opened


def mark_anew(dock):
    dock.set_assist(False)
    dock.session.apply(dock.session.with_canal(tooth="21", path_px=tuple(OTHER)))


@pytest.mark.gui
def test_it_is_seen_without_scrolling(killed, make_napari_viewer):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    viewer.window.resize(1280, 800)
    dock.open_images([killed])
    QApplication.processEvents()
    assert not dock.area.isAncestorOf(dock.recovery)
    for one in (dock.recovery.words, dock.recovery.bring, dock.recovery.leave):
        seen = one.visibleRegion().boundingRect()
        assert seen == one.rect(), one.objectName()
    dock.area.verticalScrollBar().setValue(dock.area.verticalScrollBar().maximum())
    assert not dock.recovery.bring.visibleRegion().isEmpty()
    dock.hide()
    QThreadPool.globalInstance().waitForDone(20000)


@pytest.mark.parametrize("spoil", [lambda text: text[:90], lambda text: text.replace(": 1,", ": 2,", 1)])
def test_a_file_that_cannot_be_read_stays_as_it_is(killed, open_again, said, spoil):
    path = unsaved_path(killed)
    path.write_text(spoil(path.read_text()))
    left = path.read_bytes()
    dock = open_again(killed)
    assert "they stay in that file" in said[0]
    mark_anew(dock)
    dock.keep_unsaved()
    assert path.read_bytes() == left
    dock.save()
    dock.hide()
    assert path.read_bytes() == left
    assert load_record(killed).canals[0].canal.label == "21 single"


def test_marks_of_another_picture_of_that_name_are_said_and_stay(killed, open_again):
    left = unsaved_path(killed).read_bytes()
    first = killed.read_bytes()
    cv2.imwrite(str(killed), np.random.default_rng(5).integers(0, 90, (400, 300)).astype(np.uint8))
    dock = open_again(killed)
    assert "made on another picture of this name" in dock.recovery.words.text()
    assert not dock.recovery.bring.isVisible()
    dock.recovery.leave.click()
    mark_anew(dock)
    dock.save()
    dock.hide()
    assert unsaved_path(killed).read_bytes() == left
    killed.write_bytes(first)
    record_path(killed).unlink()
    again = open_again(killed)
    again.recovery.bring.click()
    assert again.session.annotation.canal.path_px == tuple(CANAL)


def test_saving_new_marks_loses_no_older_ones(killed, open_again):
    dock = open_again(killed)
    mark_anew(dock)
    dock.keep_unsaved()
    dock.save()
    assert dock.recovery.isVisible()
    dock.recovery.bring.click()
    assert dock.session.annotation.canal.label == "11 single"
    assert not dock.recovery.isVisible()
    dock.save()
    assert list(killed.parent.glob("*.unsaved")) == []


def test_a_second_window_on_the_image_takes_nothing_away(marked, image_file, open_again):
    second = open_again(image_file)
    marked.keep_unsaved()
    left = unsaved_path(image_file).read_bytes()
    second.hide()
    assert unsaved_path(image_file).read_bytes() == left
    third = open_again(image_file)
    assert "open in another window" in third.recovery.words.text()
    mark_anew(third)
    third.keep_unsaved()
    third.save()
    assert unsaved_path(image_file).read_bytes() == left


def test_a_hand_that_never_rests_is_kept_safe_too(marked, image_file, qtbot):
    marked._autosave.setInterval(150)
    for step in range(20):
        marked.nudge(0.1 * (-1) ** step, 0.1)
        qtbot.wait(20)
    assert unsaved_path(image_file).exists()


def test_a_record_that_was_saved_since_is_said(killed, open_again):
    dock = open_again(killed)
    assert "saved since" not in dock.recovery.words.text()
    other = Session.open(killed)
    other.apply(other.with_canal(tooth="21", path_px=tuple(OTHER)))
    other.save()
    again = open_again(killed)
    assert "The record was saved since" in again.recovery.words.text()
    assert again.headline.what.text() == "21 single"
    again.recovery.bring.click()
    again.undo()
    assert again.session.annotation.canal.label == "21 single"


@pytest.mark.parametrize(
    ("length_mm", "points", "tool"), [(None, 0, "reference"), (21.0, 0, "canal"), (21.0, 3, None)], ids=str
)
def test_what_is_marked_next_is_what_is_missing_in_what_came_back(
    image_file, open_again, length_mm, points, tool
):
    session = Session.open(image_file)
    session.apply(session.with_reference(path_px=tuple(OTHER[:2]), length_mm=length_mm))
    session.apply(session.with_canal_path(OTHER[:points]))
    session.keep_unsaved()
    dock = open_again(image_file)
    assert dock.marker.tool == "reference"
    dock.recovery.bring.click()
    assert dock.marker.tool == tool


def test_marks_that_are_gone_meanwhile_are_said(killed, open_again, said):
    dock = open_again(killed)
    unsaved_path(killed).unlink()
    dock.recovery.bring.click()
    assert "no longer there" in said[0]
    assert not dock.recovery.isVisible()


def test_a_record_that_another_program_wrote_is_read_again_and_the_marks_offered(marked, image_file, said):
    other = Session.open(image_file)
    other.apply(other.with_canal(tooth="21", path_px=tuple(OTHER)))
    other.save()
    marked.save()
    assert "nothing was written" in said[0]
    assert "Another program has written the record" in marked.recovery.words.text()
    marked.recovery.bring.click()
    assert marked.session.annotation.canal.label == "21 single"
    assert "The record was saved since" in marked.recovery.words.text()
    marked.recovery.bring.click()
    assert marked.session.annotation.canal.path_px == tuple(CANAL)
    marked.save()
    assert [entry.canal.label for entry in load_record(image_file).canals] == ["11 single"]
    assert list(image_file.parent.glob("*.unsaved")) == []


def test_what_is_begun_and_cannot_be_saved_is_said_and_comes_back(marked, image_file, open_again):
    marked.next_canal()
    marked.session.apply(marked.session.with_canal_path(OTHER[:1]))
    marked.save()
    assert "not in the record yet: 11 canal 2 (one point)" in marked.record.words.text()
    marked.hide()
    again = open_again(image_file)
    again.recovery.bring.click()
    assert again.session.annotation.canal.path_px == tuple(OTHER[:1])


def test_a_length_that_was_taken_away_measures_nothing_in_the_record(marked, image_file):
    marked.save()
    marked.reference.length.setValue(0.0)
    marked.save()
    assert marked.headline.length.text() == "no length yet"
    assert load_record(image_file).references == ()
    assert "reference 1 (length missing)" in marked.record.words.text()


def test_a_folder_that_cannot_be_written_is_said_once(marked, said, tmp_path):
    (tmp_path / "file").write_text("")
    marked.session.records_dir = tmp_path / "file"
    for _ in range(3):
        marked.keep_unsaved()
    assert len(said) == 1
    marked.session.records_dir = None
    marked.keep_unsaved()
    marked.session.records_dir = tmp_path / "file"
    marked.keep_unsaved()
    assert len(said) == 2
