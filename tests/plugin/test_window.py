"""The real window, with real clicks and keys, under a display."""

import signal
import subprocess
import sys

import numpy as np
import pytest
from helpers.molar import PITCH_MM, write_molar
from qtpy.QtCore import Qt
from qtpy.QtWidgets import QApplication

from napari_radlength._viewer import words_overlay
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path

pytestmark = pytest.mark.gui
CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture(scope="module")
def molar(tmp_path_factory):
    return write_molar(tmp_path_factory.mktemp("molar") / "molar.png")


@pytest.fixture
def hand(open_window, image_file):
    made = open_window(image_file)
    made.dock.set_assist(False)
    return made


def test_the_two_minute_job(open_window, molar, qtbot):
    """Three canals of a simulated molar from opening to the saved record: clicks off by 0.1 mm, 45 of them at most."""
    hand = open_window(molar.path)
    dock, rng = hand.dock, np.random.default_rng(1)

    def click(point):
        hand.click(point + rng.normal(0, 0.1 / PITCH_MM, 2))

    click(molar.stop_px)
    click(molar.tip_px)
    assert dock.session.proposal.what == "reference"
    hand.key(Qt.Key.Key_Return, on=hand.canvas)
    hand.type(f"{molar.instrument_mm:.1f}", on=dock.reference.length)
    hand.key(Qt.Key.Key_Return, on=dock.reference.length)
    hand.type("46", on=dock.canal.tooth)
    for number, name in enumerate(("MB", "ML", "D")):
        if number:
            hand.key(Qt.Key.Key_N, on=hand.canvas)
        assert dock.session.annotation.canal.label == f"46 {name}"
        for place in (0, 2, 4, 5, 7):
            click(molar.canals_px[name][place])
        assert len(dock.session.proposal.clicks_px) == 5
        hand.key(Qt.Key.Key_Return, on=hand.canvas)
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    assert hand.count <= 45
    record = load_record(molar.path)
    stored = {one.canal: one.canal_length.value_mm for one in record.estimates}
    for entry in record.canals:
        assert stored[entry.id] == pytest.approx(molar.true_mm[entry.canal.name], abs=0.3)
        placed = sum(one.count for one in entry.canal.assists)
        assert len(entry.canal.path_px) - placed == 5
    assert [entry.canal.label for entry in record.canals] == ["46 MB", "46 ML", "46 D"]
    assert record.references[0].assists[0].method == "instrument tip"


def test_what_to_click_next_stands_on_the_image(hand):
    def said():
        return words_overlay(hand.viewer).text.rstrip()

    assert said() == "Click the stop of the instrument; no instrument there: C marks the canal"
    hand.click((60, 150))
    assert said() == "Click the tip of the instrument"
    hand.click((320, 150))
    assert said() == "Type the real length of the reference in the dock, then Enter"
    hand.key(Qt.Key.Key_Return, on=hand.canvas)
    hand.type("20", on=hand.dock.reference.length)
    hand.key(Qt.Key.Key_Return, on=hand.dock.reference.length)
    assert said() == "tooth not chosen, single: click the reference point on the crown"
    hand.click((60, 120))
    hand.key(Qt.Key.Key_Escape, on=hand.canvas)
    assert said().startswith("R: mark the reference")
    hand.click((200, 120))
    assert len(hand.dock.session.annotation.canal.path_px) == 1


def test_the_tooth_is_asked_for_before_a_length_is_told_or_saved(hand, image_file):
    dock = hand.dock
    dock.session.apply(dock.session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
    dock.mark_canal()
    for row in (60, 340):
        hand.click((row, 150))
    assert dock.headline.what.text() == "tooth not chosen, single"
    assert dock.headline.length.text() == "no length yet"
    assert dock.headline.terms.text().startswith("Choose the tooth of this canal")
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    assert not record_path(image_file).exists()
    hand.key(Qt.Key.Key_Return, on=hand.canvas)
    assert hand.window.focusWidget() is dock.canal.tooth
    hand.type("46")
    hand.key(Qt.Key.Key_Return)
    assert hand.window.focusWidget() is not dock.canal.tooth
    assert dock.headline.what.text() == "canal length, 46 MB"
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    assert [entry.canal.label for entry in load_record(image_file).canals] == ["46 MB"]


def test_marking_by_hand_saving_and_reopening(hand, image_file):
    dock = hand.dock
    dock.mark_canal()
    for row in (60, 130, 200, 270, 340):
        hand.click((row, 150))
    hand.key(Qt.Key.Key_R, on=hand.canvas)
    for row in (60, 320):
        hand.click((row, 150))
    dock.reference.length.setValue(20.0)
    dock.set_tooth("11")
    found, _ = dock.session.estimate()
    assert found.canal_length.value_mm == pytest.approx(20.0 * (340 - 60) / (320 - 60), abs=0.3)
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    assert not dock.session.is_dirty
    stored = load_record(image_file).estimates[-1].canal_length.value_mm
    assert stored == pytest.approx(found.canal_length.value_mm)
    again, _ = Session.open(image_file).estimate()
    assert again.canal_length.value_mm == pytest.approx(found.canal_length.value_mm, abs=1e-3)


def test_points_are_dragged_inserted_nudged_deleted_and_taken_back(hand):
    session = hand.dock.session
    hand.dock.mark_canal()
    for row in (60, 200, 340):
        hand.click((row, 150))
    hand.drag((200, 150), (210, 160))
    middle = session.annotation.canal.path_px[1]
    assert middle == pytest.approx((210, 160), abs=1.5)
    hand.click(middle)
    assert (len(session.annotation.canal.path_px), hand.dock.marker.chosen) == (3, 1)
    hand.click((130, (150 + middle[1]) / 2))
    assert [round(row, -1) for row, _ in session.annotation.canal.path_px] == [60, 130, 210, 340]
    before = session.annotation.canal.path_px[1]
    hand.key(Qt.Key.Key_Right, on=hand.canvas)
    hand.key(Qt.Key.Key_Up, SHIFT, on=hand.canvas)
    after = session.annotation.canal.path_px[1]
    assert np.subtract(after, before) == pytest.approx((-1, 0.1), abs=2e-3)
    hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    assert len(session.annotation.canal.path_px) == 3
    hand.key(Qt.Key.Key_Backspace, on=hand.canvas)
    assert len(session.annotation.canal.path_px) == 2
    hand.key(Qt.Key.Key_Z, CONTROL, on=hand.canvas)
    hand.key(Qt.Key.Key_Z, CONTROL, on=hand.canvas)
    assert len(session.annotation.canal.path_px) == 4
    hand.key(Qt.Key.Key_Z, CONTROL | SHIFT, on=hand.canvas)
    assert len(session.annotation.canal.path_px) == 3


def test_the_length_follows_while_a_point_is_dragged(hand):
    dock = hand.dock
    session = dock.session
    dock.set_tooth("11")
    session.apply(session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
    session.apply(session.with_canal_path([(60.0, 150.0), (340.0, 150.0)]))
    dock.mark_canal()
    seen, steps = [], len(session._past)
    session.changed.connect(lambda _marks: seen.append(dock.headline.length.text()))
    hand.drag((340, 150), (380, 150), steps=6)
    assert len(set(seen)) >= 4
    assert len(session._past) == steps + 1
    assert session.annotation.canal.path_px[1] == pytest.approx((380, 150), abs=1.5)


def test_a_drag_beside_the_points_moves_the_view_and_no_mark(hand):
    hand.dock.mark_canal()
    hand.click((60, 150))
    before = hand.spot((60, 150))
    hand.drag((250, 100), (200, 80))
    assert hand.spot((60, 150)) != before
    assert len(hand.dock.session.annotation.canal.path_px) == 1


def test_clicks_mean_the_same_pixels_when_the_view_is_turned_and_flipped(hand):
    hand.dock.turn(1)
    hand.dock.flip()
    hand.dock.fit()
    QApplication.processEvents()
    hand.dock.mark_canal()
    meant = [hand.seen(point) for point in ((60, 150), (340, 120))]
    for point in ((60, 150), (340, 120)):
        hand.click(point)
    assert np.array(hand.dock.session.annotation.canal.path_px) == pytest.approx(np.array(meant), abs=0.02)
    assert np.array(meant) == pytest.approx(np.array([(60, 150), (340, 120)]), abs=1)


def test_naparis_own_delete_key_is_an_undo_step(hand):
    session = hand.dock.session
    session.apply(session.with_canal_path([(60.0, 150.0), (200.0, 150.0), (340.0, 150.0)]))
    points = next(one for one in hand.viewer.layers if one.name == "canal points")
    hand.viewer.layers.selection.active = points
    points.mode = "select"
    points.selected_data = {1}
    points.remove_selected()
    assert len(session.annotation.canal.path_px) == 2
    hand.key(Qt.Key.Key_Z, CONTROL, on=hand.canvas)
    assert len(session.annotation.canal.path_px) == 3


def test_the_magnifier_shows_what_is_under_the_cursor(hand, qtbot):
    hand.dock.mark_canal()
    hand.dock._inset._clock.restart()
    qtbot.waitUntil(lambda: hand.dock._inset._clock.elapsed() > 30)
    hand.click((200, 150))
    inset = hand.window.findChild(object, "radlength_inset")
    assert inset.isVisible()
    assert inset.pixmap().width() == inset.width()
    hand.key(Qt.Key.Key_M, on=hand.canvas)
    assert not inset.isVisible()


def test_after_a_list_was_used_the_keys_do_what_the_image_says(hand):
    dock = hand.dock
    dock.session.apply(dock.session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
    dock.session.apply(dock.session.with_canal_path([(60.0, 150.0), (340.0, 150.0)]))
    dock.set_tooth("46")
    dock.canal.rule.setFocus()
    hand.key(Qt.Key.Key_Down, on=dock.canal.rule)
    hand.key(Qt.Key.Key_Down, on=dock.canal.rule.view())
    hand.key(Qt.Key.Key_Return, on=dock.canal.rule.view())
    assert dock.canal.rule.currentText() == "own offset"
    hand.key(Qt.Key.Key_N, on=dock.canal.rule)
    assert dock.session.annotation.canals[0].terminus is not None
    assert len(dock.session.annotation.canals) == 2


def test_a_question_mark_shows_every_key(hand):
    hand.key("?", on=hand.canvas)
    box = hand.dock.findChild(object, "radlength_key_table")
    assert "Backspace: take the last click back" in box.text()
    box.close()


def test_the_dock_survives_closing_and_opening(hand, qtbot):
    dock = hand.dock
    container = dock.parent()
    for _ in range(3):
        container.hide()
        qtbot.waitUntil(lambda: not dock.isVisible())
        container.show()
        qtbot.waitUntil(dock.isVisible)
    dock.session.apply(dock.session.with_canal_path([(60, 150), (340, 150)]))
    points = next(one for one in hand.viewer.layers if one.name == "canal points")
    assert len(points.data) == 2
    assert len(dock.session.changed) == 2


def test_images_stand_in_order_of_time_and_marks_come_over_as_a_proposal(open_window, tmp_path, image_file):
    import os

    other = tmp_path / "a-later.png"
    other.write_bytes(image_file.read_bytes())
    os.utime(image_file, (1_000_000_000, 1_000_000_000))
    os.utime(other, (1_100_000_000, 1_100_000_000))
    hand = open_window()
    dock = hand.dock
    dock.open_images([tmp_path])
    assert dock.session.radiograph.name == "tooth.png"
    first = dock.session
    first.apply(first.with_canal_path([(60.0, 150.0), (200.0, 150.0), (340.0, 150.0)]))
    hand.key(Qt.Key.Key_PageDown, on=hand.canvas)
    assert dock.session.radiograph.name == "a-later.png"
    assert [one.name for one in hand.viewer.layers if one.visible and one.name.endswith("png")] == [
        "a-later.png"
    ]
    left = hand.viewer.layers["tooth.png"]
    dock.image.beside.click()
    assert left.visible
    assert left.data_to_world((0, left.data.shape[1] - 1))[1] < 0
    hand.key(Qt.Key.Key_B, on=hand.canvas)
    assert not left.visible
    dock.image.carry.click()
    found = dock.session.proposal
    assert not found.trusted
    assert len(found.clicks_px) == 3
    dock.go_on()
    assert {one.method for one in dock.session.annotation.canal.assists} == {"carried over"}
    hand.key(Qt.Key.Key_PageUp, on=hand.canvas)
    assert dock.session is first


def test_nothing_is_cut_off_at_300_pixels_and_a_large_font_only_widens_the_dock(hand):
    dock = hand.dock
    inside = dock.area.widget()
    assert inside.minimumSizeHint().width() <= 300
    assert dock.minimumWidth() == 300
    font = QApplication.font()
    larger = QApplication.font()
    larger.setPointSizeF(2 * font.pointSizeF())
    try:
        QApplication.setFont(larger)
        QApplication.processEvents()
        assert inside.minimumSizeHint().width() <= 640
    finally:
        QApplication.setFont(font)


KILLED = """
import sys
from napari.components import ViewerModel
from qtpy.QtWidgets import QApplication
app = QApplication([])
from napari_radlength._dock import LengthDock
from radlength.session import Session, unsaved_path
from pathlib import Path
dock = LengthDock(ViewerModel())
dock.show()
dock.show_session(Session.open(sys.argv[1]))
dock.session.apply(dock.session.with_canal_path([(60, 150), (200, 150), (340, 150)]))
while not unsaved_path(Path(sys.argv[1])).exists():
    app.processEvents()
print("kept", flush=True)
while True:
    app.processEvents()
"""


def test_a_killed_process_loses_no_mark(image_file, open_window):
    child = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(image_file)], stdout=subprocess.PIPE, text=True
    )
    try:
        assert child.stdout.readline() == "kept\n"
    finally:
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
    assert not record_path(image_file).exists()
    assert unsaved_path(image_file).exists()
    hand = open_window(image_file)
    assert hand.dock.recovery.isVisibleTo(hand.dock)
    hand.dock.recovery.bring.click()
    assert len(hand.dock.session.annotation.canal.path_px) == 3
    hand.type("46", on=hand.dock.canal.tooth)
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    assert load_record(image_file).canals[0].canal.path_px[1] == (200.0, 150.0)
    assert not unsaved_path(image_file).exists()
