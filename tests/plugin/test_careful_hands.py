"""What a hand does without meaning to: a slow key, the wheel, a letter typed on a list, a number not entered."""

from types import SimpleNamespace

import cv2
import numpy as np
import pytest
from helpers.drawn_canal import CLICKS, canal_pixels, write_pixels
from qtpy.QtCore import QPoint, QPointF, QRect, Qt
from qtpy.QtGui import QWheelEvent
from qtpy.QtWidgets import QApplication, QMessageBox

from napari_radlength._inset import Inset
from napari_radlength._viewer import zoom_of
from napari_radlength._widgets import Choices, label
from radlength.session import Session


@pytest.fixture
def traced(dock, tmp_path):
    """A dock with an instrument and an open trace of a canal whose tooth is not chosen."""
    session = Session.open(write_pixels(tmp_path / "drawn.png", canal_pixels()))
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    dock.show_session(session)
    dock.mark_canal()
    dock.marker.keep("canal", CLICKS)
    assert session.proposal is not None
    return dock


def test_choosing_the_tooth_keeps_the_open_trace(traced, qtbot):
    traced.canal.tooth.setFocus()
    qtbot.keyClicks(traced.canal.tooth, "46")
    assert traced.session.proposal is not None
    assert traced.session.annotation.canal.tooth == "46"
    assert len(traced.session.annotation.canal.path_px) > len(CLICKS)


def test_the_dock_follows_an_edit_beside_an_open_trace(traced):
    assert traced.session.is_preview
    traced.edit_canal(hidden=True)
    assert traced.session.proposal is not None
    assert traced.canal.chooser.currentText().endswith(", hidden)")
    traced.set_tooth("46")
    assert traced.canal.chooser.currentText().startswith("46 MB (")
    assert traced.canal.name.text() == "MB"


def test_what_would_lose_a_proposal_is_refused(traced, said):
    clicks = traced.session.proposal.clicks_px
    traced.session.discard()
    traced.session.add_canal("46", "second")
    traced.session.select(0)
    traced.marker.propose("canal")
    traced.select(1)
    assert traced.session.annotation.current == 0
    assert traced.canal.chooser.currentIndex() == 0
    traced.edit_shape(size=25)
    assert traced.session.proposal.clicks_px == clicks
    assert all(words.startswith("a proposal is open") for words in said)
    assert len(said) == 2


def test_a_tooth_typed_slowly_is_that_tooth(marked, qtbot):
    box, taken = marked.canal.tooth, []
    box.activated.connect(taken.append)
    qtbot.keyClick(box, "4")
    qtbot.wait(700)
    assert (box.currentText(), taken) == ("11", [])
    qtbot.keyClick(box, "6")
    assert marked.session.annotation.canal.tooth == "46"
    assert len(taken) == 1


def test_digits_that_are_no_tooth_change_nothing(marked, qtbot):
    for digits in ("19", "99"):
        qtbot.keyClicks(marked.canal.tooth, digits)
    assert marked.session.annotation.canal.tooth == "11"


def test_the_wheel_changes_no_list(marked):
    before = marked.session.annotation
    boxes = [box for box in marked.findChildren(Choices) if box.count() > 1]
    assert len(boxes) >= 8
    for box in boxes:
        shown = box.currentIndex()
        for turn in (-120, 120):
            flags = Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase
            wheel = QWheelEvent(QPointF(3, 3), QPointF(3, 3), QPoint(), QPoint(0, turn), *flags, False)
            QApplication.sendEvent(box, wheel)
        assert box.currentIndex() == shown, box.objectName()
    assert marked.session.annotation == before


def test_a_key_of_the_image_typed_on_a_list_does_not_change_it(marked, qtbot):
    marked.canal.rule.setCurrentText("own offset")
    marked.canal.rule.activated.emit(1)
    length = marked.headline.length.text()
    for key in "nNtTo":
        qtbot.keyClick(marked.canal.rule, key)
    assert marked.canal.rule.currentText() == "own offset"
    assert marked.headline.length.text() == length


def test_a_list_used_with_the_mouse_gives_the_keys_back(marked, qtbot):
    box = marked.canal.rule
    box.setFocus()
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton)
    box.hidePopup()
    qtbot.waitUntil(lambda: not box.hasFocus())


def test_a_length_typed_and_not_entered_is_saved(marked):
    marked.save()
    marked.reference.length.lineEdit().setText("20.5")
    marked.save()
    assert marked.session.annotation.reference.length_mm == 20.5
    assert not marked.session.is_dirty


def test_closing_does_not_save_something_else_than_is_shown(traced, said, monkeypatch):
    traced.set_tooth("46")
    asked = []
    buttons = QMessageBox.StandardButton

    def answer(words):
        asked.append(words)
        return buttons.Save

    monkeypatch.setattr(traced, "_ask", answer)
    traced.ask_on_close = True
    shown = traced.session.annotation
    assert not traced.may_close()
    assert "neither accepted nor dropped" in asked[0]
    assert said
    assert traced.session.annotation == shown
    traced.go_on()
    assert traced.may_close()


def test_a_small_image_after_a_large_one_fills_the_view(dock, viewer, tmp_path):
    for name, shape in (("small.png", (80, 60)), ("large.png", (1600, 1200))):
        cv2.imwrite(str(tmp_path / name), np.random.default_rng(0).integers(0, 90, shape).astype(np.uint8))
    dock.open_images([tmp_path / "small.png"])
    alone = zoom_of(viewer)
    dock.open_images([tmp_path / "large.png"])
    assert zoom_of(viewer) < alone / 10
    dock.open_images([tmp_path / "small.png"])
    assert zoom_of(viewer) == pytest.approx(alone)


def test_opening_others_keeps_an_image_with_unsaved_marks_in_reach(marked, tmp_path, image_file):
    marked.open_images([image_file])
    marked.session.apply(marked.session.with_reference(length_mm=19.0))
    other = tmp_path / "elsewhere" / "other.png"
    other.parent.mkdir()
    cv2.imwrite(str(other), np.random.default_rng(1).integers(0, 90, (300, 200)).astype(np.uint8))
    marked.open_images([other])
    assert marked.session.radiograph.path == other
    assert {shot.path for shot in marked.shots} == {image_file, other}
    marked.show_image([shot.path for shot in marked.shots].index(image_file))
    assert marked.session.annotation.reference.length_mm == 19.0
    marked.save()
    marked.open_images([other])
    assert [shot.path for shot in marked.shots] == [other]


@pytest.mark.parametrize("cursor", [(20, 20), (290, 150), (290, 20), (150, 200)], ids=str)
def test_the_magnifier_stays_on_the_image(qtbot, cursor):
    parent = label("parent")
    qtbot.addWidget(parent)
    parent.resize(700, 400)
    room = QRect(0, 0, 300, 400)
    inset = Inset(parent)
    inset.show_at(np.zeros((50, 50), np.float32), 20, 20, QPoint(*cursor), room)
    assert room.contains(inset.geometry())
    assert not inset.geometry().contains(QPoint(*cursor))


def test_the_magnifier_shows_where_the_cursor_stopped(marked, viewer, qtbot, monkeypatch):
    shown = []
    monkeypatch.setattr(Inset, "show_at", lambda _self, _grey, row, column, *_: shown.append((row, column)))
    marked.mark_canal()
    for row in range(100, 120):
        marked._inset.on_move(viewer, SimpleNamespace(position=(float(row), 150.0)))
    qtbot.waitUntil(lambda: bool(shown) and shown[-1] == (119.0, 150.0))


def test_a_click_outside_the_image_marks_nothing(marked):
    marked.marker.click("canal", (10.0, -151.0), 5.0)
    assert marked.marker.note == "That is outside the image: click on it"
    assert len(marked.session.annotation.canal.path_px) == 6


def test_a_label_is_as_high_as_its_words(marked, qtbot):
    words = marked.canal.clicks
    words.setText("15 points: 4 by a person, 11 by the program, and some more words that take a second line.")
    qtbot.waitUntil(lambda: words.height() >= words.heightForWidth(words.width()))
    assert words.height() > 1.5 * words.fontMetrics().height()
