"""What a dentist runs into in the first hour: a wrong tooth, keys of other programs, a view that is no longer flat."""

import numpy as np
import pytest
from helpers.marked_dock import CANAL, mark
from qtpy.QtCore import Qt
from qtpy.QtWidgets import QApplication

from napari_radlength._keys import help_text, key_of
from napari_radlength._viewer import grid_of, say_on_image, words_overlay
from radlength.errors import ReportError
from radlength.session import Session

CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def three(dock, image_file):
    """Three canals on tooth 36, the last one shown."""
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    dock.set_tooth("36")
    for shift in (10, 20):
        dock.next_canal()
        dock.session.apply(dock.session.with_canal_path([(row, column + shift) for row, column in CANAL]))
    return dock


def test_a_tooth_that_is_corrected_says_which_canals_are_still_on_the_other(three, viewer):
    three.set_tooth("46")
    words = words_overlay(viewer).text.replace("\N{NO-BREAK SPACE}", "")
    assert f"MB and ML are still on 36: {key_of('other_canal')} goes to the next canal" in words
    three.other_canal()
    three.set_tooth("46")
    assert "ML is still on 36" in words_overlay(viewer).text
    three.other_canal()
    three.set_tooth("46")
    assert "still on" not in words_overlay(viewer).text
    assert {one.tooth for one in three.session.annotation.canals} == {"46"}


def test_a_first_tooth_and_canals_that_nobody_marked_are_not_asked_about(dock, viewer, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    dock.set_tooth("36")
    dock.next_canal()
    dock.select(0)
    dock.set_tooth("46")
    assert "still on" not in words_overlay(viewer).text


def test_undo_takes_the_words_of_what_is_undone_away(three, viewer):
    three.set_tooth("46")
    three.undo()
    assert "still on" not in words_overlay(viewer).text
    three.redo()
    assert "still on" not in words_overlay(viewer).text


def test_marks_of_another_image_are_not_called_traced_nor_saved(dock, viewer, folder):
    dock.open_images([folder])
    mark(dock.session)
    name = dock.session.radiograph.name
    dock.next_image()
    dock.mark_canal()
    dock.marker.click("canal", (-500.0, 0.0), 3.0)
    assert "outside" in dock.marker.note
    dock.carry_marks()
    words = words_overlay(viewer).text.replace("\N{NO-BREAK SPACE}", "")
    assert words.startswith(f"Marks brought over, look closely: These points were placed on {name}.")
    assert "outside" not in words
    assert dock.record.words.text() == "what is proposed is not in the record"


def test_words_about_a_canal_go_with_it(three, viewer):
    three.mark_canal()
    three.marker.click("canal", (-500.0, 0.0), 3.0)
    assert "outside" in three.marker.note
    three.remove_canal()
    assert "outside" not in words_overlay(viewer).text


def test_marks_that_are_hidden_are_said_to_be(three, viewer):
    assert "hidden" not in words_overlay(viewer).text
    three.toggle_marks()
    assert f"All marks are hidden: {key_of('toggle_marks')} shows them" in words_overlay(viewer).text
    three.toggle_marks()
    assert "hidden" not in words_overlay(viewer).text
    for one in viewer.layers:
        one.visible = one is three.layers.image
    three.say()
    assert "All marks are hidden" in words_overlay(viewer).text


def test_without_a_scale_the_pixel_pitch_can_be_stated_and_that_is_said(dock, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    dock.choose_reference("")
    assert dock.headline.length.text() == "no length yet"
    assert "or state the pixel pitch of the detector" in dock.headline.terms.text()
    dock.state_pitch(0.05)
    assert dock.headline.length.text().endswith(")")


def test_redo_has_the_key_of_other_programs_too():
    assert "Ctrl+Shift+Z or Ctrl+Y: do it again" in help_text()


@pytest.fixture
def hand(open_window, image_file):
    made = open_window(image_file)
    made.dock.set_assist(False)
    mark(made.dock.session)
    return made


@pytest.mark.gui
def test_ctrl_y_does_it_again_and_leaves_the_view_flat(hand):
    hand.key(Qt.Key.Key_Z, CONTROL, on=hand.canvas)
    assert hand.dock.session.can_redo
    hand.key(Qt.Key.Key_Y, CONTROL, on=hand.canvas)
    assert not hand.dock.session.can_redo
    assert hand.viewer.dims.ndisplay == 2


def three_d(viewer):
    viewer.dims.ndisplay = 3


def grid(viewer):
    grid_of(viewer).enabled = True


@pytest.mark.gui
@pytest.mark.parametrize("turn", [three_d, grid])
def test_in_a_view_that_is_not_flat_nothing_is_marked_and_it_is_said(hand, turn):
    dock = hand.dock
    dock.mark_canal()
    before = dock.session.annotation
    turn(hand.viewer)
    assert "3-D or a grid" in words_overlay(hand.viewer).text
    hand.click(hand.seen((200, 100)))
    hand.drag(CANAL[2], (150, 100))
    assert dock.session.annotation == before
    assert dock._inset._inset is None or not dock._inset._inset.isVisible()
    dock.image.whole.click()
    assert "3-D" not in words_overlay(hand.viewer).text
    QApplication.processEvents()
    hand.drag(CANAL[2], (150, 100))
    assert dock.session.annotation != before


@pytest.mark.gui
def test_work_that_fails_in_a_window_says_one_sentence_whole_and_is_not_under_way(hand, qtbot, capfd):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    def steps():
        yield "one"
        raise ReportError(
            "nothing that could be told in one line is wrong with this report of an invented case",
            "a report of another case, which there is none of",
            "try another one, or none at all",
            code="report-test",
        )

    before = len(hand.window.findChildren(NapariQtNotification))
    hand.dock.record.work.start("report", steps, lambda _result: None)
    qtbot.waitUntil(lambda: not hand.dock.record.work.is_busy)
    qtbot.waitUntil(lambda: len(hand.window.findChildren(NapariQtNotification)) > before)
    qtbot.wait(100)  # napari's own callbacks come after ours
    told = hand.window.findChildren(NapariQtNotification)[before:]
    assert len(told) == 1
    assert told[0].property("expanded")
    assert "TypeError" not in capfd.readouterr().err


@pytest.mark.gui
def test_closing_is_not_held_up_by_work_that_napari_lists_by_an_address(hand, qtbot):
    hand.dock.record.work.start("report", lambda: iter(["one", "two"]), lambda _result: None)
    manager = getattr(hand.viewer.window, "_task_status_manager", None)
    assert manager is None or not manager.get_status()
    qtbot.waitUntil(lambda: not hand.dock.record.work.is_busy)


@pytest.mark.gui
def test_a_message_that_is_there_when_the_window_closes_leaves_no_error(hand, qtbot):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    told = hand.window.findChildren(NapariQtNotification)[-1]
    gone = []
    told.destroyed.connect(lambda *_gone: gone.append(True))
    told.deleteLater()
    qtbot.waitUntil(lambda: bool(gone))
    told.timer_stop()  # as napari does where a window loses the focus
    assert not told.timer.isActive()
    NapariQtNotification._instances.remove(told)


@pytest.mark.gui
def test_a_line_of_wide_letters_fits_on_a_small_image(hand, qtbot):
    hand.viewer.window.resize(1000, 700)
    qtbot.waitUntil(lambda: hand.window.width() == 1000)
    QApplication.processEvents()
    hand.dock.toggle_marks()
    say_on_image(hand.viewer, "The image was put back: marks and lengths stand on it. " * 4)
    QApplication.processEvents()
    seen = hand.viewer.screenshot(canvas_only=True, flash=False)[:, :, 0]
    bright = np.flatnonzero((seen > 200).any(axis=0))
    assert len(bright) > 100
    assert bright.max() < seen.shape[1] - 4
