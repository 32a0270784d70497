"""Names too long for a list: what tells them apart stands at their ends and is seen, and the whole name can be had."""

import pytest
from qtpy.QtCore import QPoint
from qtpy.QtGui import QHelpEvent
from qtpy.QtWidgets import QApplication, QToolTip

from napari_radlength._widgets import choices
from radlength.session import Session

NAMES = [f"instrument in canal {name}" for name in ("MB", "ML", "D")]


@pytest.fixture
def box(qtbot):
    made = choices("radlength_reference_chooser", "reference of this canal", NAMES)
    qtbot.addWidget(made)
    made.resize(120, made.sizeHint().height())
    made.show()
    return made


def test_two_instruments_are_told_apart_in_a_narrow_list(box):
    seen = []
    for n, name in enumerate(NAMES):
        box.setCurrentIndex(n)
        seen.append(box.shown())
        assert box.fontMetrics().horizontalAdvance(box.shown()) < box.width()
        assert box.shown() != name
    assert [words.rpartition(" ")[2] for words in seen] == ["MB", "ML", "D"]
    pictures = []
    for n in range(2):
        box.setCurrentIndex(n)
        pictures.append(box.grab().toImage())
    assert pictures[0] != pictures[1]


def test_the_tip_tells_the_whole_choice_only_where_it_is_shortened(box, qtbot):
    QApplication.sendEvent(
        box, QHelpEvent(QHelpEvent.Type.ToolTip, QPoint(3, 3), box.mapToGlobal(QPoint(3, 3)))
    )
    assert QToolTip.text() == NAMES[0]
    box.setToolTip("Choose a length first.")
    QApplication.sendEvent(
        box, QHelpEvent(QHelpEvent.Type.ToolTip, QPoint(4, 4), box.mapToGlobal(QPoint(4, 4)))
    )
    assert QToolTip.text() == "Choose a length first."
    box.resize(400, box.height())
    assert box.shown() == NAMES[0]


def test_an_open_list_is_as_wide_as_its_longest_choice(box):
    box.showPopup()
    longest = max(map(box.view().fontMetrics().horizontalAdvance, NAMES))
    assert box.view().width() >= longest
    box.hidePopup()


def test_what_is_known_of_an_instrument_is_asked_for_only_with_an_image(dock, image_file):
    section = dock.reference
    boxes = (section.instrument_size, section.taper, section.tip)
    assert [box.isEnabled() for box in boxes] == [False] * 3
    dock.show_session(Session.open(image_file))
    assert [box.isEnabled() for box in boxes] == [True] * 3
