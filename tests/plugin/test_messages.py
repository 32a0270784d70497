"""Refusals as messages in the window: whole, above one another, and taking no keys."""

import pytest
from qtpy.QtCore import Qt
from qtpy.QtWidgets import QApplication

from napari_radlength._notify import told
from radlength.errors import RadlengthError

pytestmark = pytest.mark.gui


@pytest.fixture
def hand(open_window, image_file):
    made = open_window(image_file)
    made.dock.set_assist(False)
    return made


def test_a_refusal_is_shown_whole(hand, qtbot):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    hand.click((60, 150))
    hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    qtbot.waitUntil(lambda: bool(hand.window.findChildren(NapariQtNotification)))
    newest = hand.window.findChildren(NapariQtNotification)[-1]
    assert newest.property("expanded")
    words = newest.message
    assert words.height() >= words.heightForWidth(words.width())
    assert words.text() == "no point is chosen; click a point, then delete it"


def test_a_refusal_that_just_fills_its_lines_is_whole_too(hand, qtbot):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    sentence = (
        "a.png: the file holds another picture by now than the one that was marked; nothing was written; read the file "
        "again, or put the picture that was marked back under this name"
    )
    for end in range(len(sentence) - 40, len(sentence) + 1, 2):
        with told():
            raise RadlengthError(sentence[:end], code="test")
        message = hand.window.findChildren(NapariQtNotification)[-1]
        QApplication.processEvents()
        words = message.message
        assert words.height() >= words.heightForWidth(words.width()), end
        message.close()
        qtbot.wait(1)


def test_messages_lie_above_one_another_and_leave_the_keys_to_a_field(hand, qtbot):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    for _ in range(3):
        hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    shown = [one for one in hand.window.findChildren(NapariQtNotification) if one.isVisible()]
    qtbot.wait(300)  # napari slides them in
    assert len(shown) == 3
    for one, other in ((shown[0], shown[1]), (shown[1], shown[2]), (shown[0], shown[2])):
        assert not one.geometry().intersects(other.geometry())
    assert all(hand.canvas.rect().contains(one.geometry()) for one in shown)
    hand.dock.reference.length.setFocus()
    shown[2].timer.setInterval(1)
    shown[2].timer.start()
    qtbot.wait(100)
    assert shown[2].isVisible()
    gone = []
    shown[2].destroyed.connect(lambda *_gone: gone.append(True))
    hand.canvas.setFocus()
    qtbot.waitUntil(lambda: bool(gone), timeout=10000)
