"""Refusals as messages in the window: whole, above one another, and taking no keys."""

import pytest
from qtpy.QtCore import Qt

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
    told = hand.window.findChildren(NapariQtNotification)[-1]
    assert told.property("expanded")
    words = told.message
    assert words.height() >= words.heightForWidth(words.width())
    assert words.text() == "no point is chosen; click a point, then delete it"


def test_messages_lie_above_one_another_and_leave_the_keys_to_a_field(hand, qtbot):
    from napari._qt.dialogs.qt_notification import NapariQtNotification

    for _ in range(3):
        hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    told = [one for one in hand.window.findChildren(NapariQtNotification) if one.isVisible()]
    qtbot.wait(300)  # napari slides them in
    assert len(told) == 3
    for one, other in ((told[0], told[1]), (told[1], told[2]), (told[0], told[2])):
        assert not one.geometry().intersects(other.geometry())
    assert all(hand.canvas.rect().contains(one.geometry()) for one in told)
    hand.dock.reference.length.setFocus()
    told[2].timer.setInterval(1)
    told[2].timer.start()
    qtbot.wait(100)
    assert told[2].isVisible()
    gone = []
    told[2].destroyed.connect(lambda *_gone: gone.append(True))
    hand.canvas.setFocus()
    qtbot.waitUntil(lambda: bool(gone), timeout=10000)
