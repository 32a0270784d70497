"""Handing in an exercise: by one key, and asked about, because it can be done once."""

import pytest
from helpers.exercise_window import clicks_on, published, truth
from helpers.window_play import Hand
from qtpy.QtCore import Qt, QThreadPool, QTimer
from qtpy.QtWidgets import QApplication, QMessageBox

from napari_radlength._dock import open_dock
from radlength.exercise import load_attempt

CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hand(make_napari_viewer, tmp_path):
    """A hand at a real window, the first exercise in it marked."""
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.exercise.open_set(published(tmp_path))
    dock.exercise.begin.code.setText("A07")
    dock.exercise.start()
    made = Hand(viewer, dock)
    yield made
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def marked(dock, number):
    answer = truth(number)
    for role, path in (("reference", answer.reference_px), ("canal", answer.canal_px)):
        if role in dock.marker.roles:
            dock.marker.keep(role, clicks_on(path, 6))


def answering(hand, key, asked):
    """Answer the question that comes next by a key, and keep its words."""

    def answer():
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        asked.append(box.text())
        hand.key(key, on=box)

    QTimer.singleShot(300, answer)


@pytest.mark.gui
def test_one_key_hands_in_and_asks_first(hand, tmp_path, said):
    section, asked = hand.dock.exercise, []
    marked(hand.dock, 0)
    answering(hand, Qt.Key.Key_Escape, asked)
    hand.key(Qt.Key.Key_Return, CONTROL, on=hand.canvas)
    assert asked == ["Exercise 1 of 3, difficulty 2 of 6. Hand in the answer? It is final."]
    assert (section.desk.handed_in, section.desk.task.id) == (0, "01")
    answering(hand, Qt.Key.Key_Return, asked)
    hand.key(Qt.Key.Key_Return, CONTROL, on=hand.canvas)
    assert (len(asked), section.desk.handed_in, section.desk.task.id) == (2, 1, "02")
    assert len(load_attempt(tmp_path / "A07.attempt.json").answers) == 1
    assert said == []


@pytest.mark.gui
def test_what_is_missing_is_said_before_anything_is_asked(hand, said):
    hand.key(Qt.Key.Key_Return, CONTROL, on=hand.canvas)
    assert said == ["exercise 01: the instrument and the canal are missing; mark it, then hand in"]


@pytest.mark.gui
def test_a_choice_is_made_and_handed_in_by_keys_alone(hand, said):
    section = hand.dock.exercise
    for number in (0, 1):
        marked(hand.dock, number)
        answering(hand, Qt.Key.Key_Return, [])
        hand.key(Qt.Key.Key_Return, CONTROL, on=hand.canvas)
    buttons = section.task.group.buttons()
    assert hand.window.focusWidget() is buttons[0]
    hand.key(Qt.Key.Key_Down)
    assert section.desk.choice == buttons[1].objectName().removeprefix("radlength_choice_")
    answering(hand, Qt.Key.Key_Return, [])
    hand.key(Qt.Key.Key_Return, CONTROL)
    assert section.end.isVisible()
    assert said == []


def test_without_an_exercise_the_key_does_nothing(marked, said):
    marked.hand_in()
    assert said == []
    assert marked.session is not None


@pytest.mark.gui
def test_after_a_choice_the_keys_are_the_images(hand, said):
    section = hand.dock.exercise
    section.task.show_task(section.desk)
    section.task.hand_in.setFocus()
    section.back()
    hand.key(Qt.Key.Key_P)
    hand.key(Qt.Key.Key_P)
    hand.key(Qt.Key.Key_Return)
    assert hand.dock.marker.tool == "canal"
    assert (section.desk.handed_in, said) == (0, [])
