"""What is known of the reference instrument, chosen in the window: it moves the tip that the program placed."""

import pytest
from helpers.drawn_canal import STOP, TIP, instrument_pixels, write_pixels
from qtpy.QtCore import Qt
from qtpy.QtTest import QTest

from radlength.record import load_record
from radlength.session import Session


@pytest.fixture
def filed(dock, tmp_path):
    dock.show_session(Session.open(write_pixels(tmp_path / "filed.png", instrument_pixels())))
    dock.set_tooth("11")
    for point in (STOP, TIP):
        dock.marker.click("reference", point, 3.0)
    dock.go_on()
    dock.reference.length.setValue(12.0)
    return dock


def pick(box, entry):
    """Choose an entry of a list with keys."""
    QTest.keyClick(box, Qt.Key.Key_Down)
    QTest.keyClick(box.view(), Qt.Key.Key_Home)
    for _ in range(box.findText(entry)):
        QTest.keyClick(box.view(), Qt.Key.Key_Down)
    QTest.keyClick(box.view(), Qt.Key.Key_Return)
    assert box.currentText() == entry


def test_size_taper_and_point_move_the_tip_are_undone_and_are_in_the_record(filed):
    tip = filed.session.annotation.reference.path_px[-1]
    start = filed.session.annotation.reference
    pick(filed.reference.instrument_size, "15")
    pick(filed.reference.taper, ".02")
    pick(filed.reference.tip, "rounded")
    found = filed.session.proposal
    assert found.what == "reference"
    assert found.path_px[-1][0] < tip[0]
    filed.go_on()
    filed.save()
    stored = load_record(filed.session.radiograph.path).references[0]
    assert (stored.size, stored.taper, stored.tip_form) == (15.0, 0.02, "rounded")
    assert stored.path_px[-1] == found.path_px[-1]
    while filed.session.annotation.reference != start:
        filed.undo()
    assert [box.currentText() for box in (filed.reference.instrument_size, filed.reference.tip)] == [
        "unknown",
        "unknown",
    ]


def test_a_tip_of_ones_own_stays_where_it_is(filed):
    filed.set_assist(False)
    filed.mark_reference()
    filed.nudge_down()
    tip = filed.session.annotation.reference.path_px[-1]
    pick(filed.reference.tip, "cone")
    assert filed.session.proposal is None
    assert filed.session.annotation.reference.path_px[-1] == tip


def test_a_size_from_a_record_that_is_not_in_the_list_is_shown(filed):
    filed.edit_reference(size=17.0)
    assert filed.reference.instrument_size.currentText() == "17"
    filed.edit_reference(placement="beside")
    assert not filed.reference.tip.isEnabled()
    assert filed.reference.tip.toolTip().startswith("Only an instrument in a canal")
