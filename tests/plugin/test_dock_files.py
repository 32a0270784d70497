"""Images and records opened, kept and saved through the dock, on a viewer model."""

import numpy as np
import pytest
from helpers.marked_dock import CANAL, layer
from napari.components import ViewerModel
from napari.layers import Image
from napari.layers._source import layer_source
from qtpy.QtCore import QTimer
from qtpy.QtWidgets import QApplication

from napari_radlength._convert import IMAGE_KEY, image_layer
from napari_radlength._keeping import KEPT
from radlength.imaging import Radiograph
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path


def test_saving_and_reopening_restores_marks(marked, image_file, make_dock):
    marked.save()
    assert record_path(image_file).exists()
    assert marked.record.words.text() == "all marks are in the record"
    shown = marked.headline.length.text()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    assert other.headline.length.text() == shown
    assert load_record(image_file).canals[0].canal.path_px == tuple(CANAL)


def test_a_refusal_is_a_sentence_and_not_a_crash(marked, image_file, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.save()
    path = record_path(image_file)
    path.write_bytes(path.read_bytes() + b" ")
    marked.take_back_canal()
    marked.save()
    assert len(said) == 1
    assert "changed" in said[0]


def test_a_radiograph_added_to_the_viewer_starts_a_session(dock, viewer):
    radiograph = Radiograph.from_array(np.zeros((40, 30), np.uint8), name="array.tif")
    data, settings, _ = image_layer(radiograph)
    viewer.add_image(data, **settings)
    assert dock.session.radiograph is radiograph
    assert layer(viewer, "canal").ndim == 2
    assert not dock.record.save.isEnabled()
    assert viewer.layers[0].metadata[IMAGE_KEY] is radiograph


def test_an_image_that_another_reader_brought_in_is_read_again_from_its_file(dock, viewer, image_file, qtbot):
    with layer_source(path=str(image_file)):
        plain = Image(np.zeros((400, 300)))
    viewer.add_layer(plain)
    qtbot.waitUntil(lambda: dock.session is not None)
    assert dock.session.radiograph.path == image_file
    assert plain not in viewer.layers
    assert viewer.layers[0].metadata.get(IMAGE_KEY) is dock.session.radiograph


def test_pixels_that_are_not_square_are_shown_in_their_true_shape():
    radiograph = Radiograph.from_array(np.zeros((40, 30), np.uint8), row_mm=0.06, column_mm=0.03)
    assert image_layer(radiograph)[1]["scale"] == (2.0, 1.0)


def test_unsaved_marks_come_back_after_a_crash(marked, image_file, make_dock):
    marked.keep_unsaved()
    assert unsaved_path(image_file).exists()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    assert other.recovery.isVisible()
    other.keep_unsaved()
    other.recovery.bring.click()
    assert not other.recovery.isVisible()
    assert other.session.annotation.canal.path_px == tuple(CANAL)
    other.undo()
    assert other.session.annotation.canal.path_px == ()


def test_unsaved_marks_that_wait_for_a_choice_are_not_written_over(marked, image_file, make_dock):
    marked.keep_unsaved()
    kept = unsaved_path(image_file).read_bytes()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    other.session.apply(other.session.with_canal_path(CANAL[:2]))
    other.keep_unsaved()
    assert unsaved_path(image_file).read_bytes() == kept
    other.recovery.leave.click()
    other.keep_unsaved()
    assert unsaved_path(image_file).read_bytes() != kept


def test_an_image_with_unsaved_marks_closes_after_one_question(marked, monkeypatch, image_file):
    from qtpy.QtWidgets import QMessageBox

    buttons = QMessageBox.StandardButton
    asked = []

    def answer(with_):
        monkeypatch.setattr(marked, "_ask", lambda words: asked.append(words) or with_)

    assert marked.may_close()
    marked.ask_on_close = True
    answer(buttons.Cancel)
    assert not marked.may_close()
    answer(buttons.Discard)
    assert marked.may_close()
    answer(buttons.Save)
    assert marked.may_close()
    assert record_path(image_file).exists()
    assert marked.may_close()
    assert asked == [f"Marks on tooth.png are not in the record.\n\n{KEPT}"] * 3
    marked.edit_canal(tooth="")
    assert not marked.may_close()


@pytest.mark.parametrize(
    ("name", "closes", "saved"),
    [("Save and close", True, True), ("Close without saving", True, False), ("Stay", False, False)],
)
def test_every_button_of_the_question_says_what_it_does(marked, image_file, name, closes, saved):
    """What is not saved is kept for the next time: a button that says "Discard" would promise something else."""
    marked.ask_on_close = True
    seen = []

    def press():
        box = QApplication.activeModalWidget()
        seen.extend(one.text() for one in box.buttons())
        seen.append(box.text())
        next(one for one in box.buttons() if one.text() == name).click()

    QTimer.singleShot(0, press)
    assert marked.may_close() is closes
    assert sorted(seen[:3]) == ["Close without saving", "Save and close", "Stay"]
    assert "bring them back or drop them" in seen[3]
    assert record_path(image_file).exists() is saved
    if closes and not saved:
        marked.let_go()
        assert unsaved_path(image_file).exists()


def test_images_are_asked_for_and_opened(dock, image_file, monkeypatch):
    from qtpy.QtWidgets import QFileDialog

    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_words: ([], ""))
    dock.image.open.click()
    assert dock.session is None
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_words: ([str(image_file)], ""))
    dock.image.open.click()
    assert dock.session.radiograph.path == image_file
    dock.next_image()
    dock.toggle_beside()
    dock.carry_marks()
    assert dock.session.proposal is None


def test_an_image_that_cannot_be_read_is_said(dock, tmp_path, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    broken = tmp_path / "broken.png"
    broken.write_text("no image")
    dock.open_images([broken])
    assert len(said) == 1
    assert dock.session is None
