"""The window without a mouse: what is typed stays in its field, the focus is seen, a canal can be marked by keys."""

import numpy as np
import pytest
from helpers.drawn_canal import CLICKS, canal_pixels, write_pixels
from helpers.exercise_window import clicks_on, published, truth
from helpers.window_play import Hand
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock
from napari_radlength._viewer import words_overlay
from radlength.record import load_record
from radlength.session import Session

CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
ARROWS = {
    (0, 1): Qt.Key.Key_Down,
    (0, -1): Qt.Key.Key_Up,
    (1, 1): Qt.Key.Key_Right,
    (1, -1): Qt.Key.Key_Left,
}


@pytest.fixture
def hand(make_napari_viewer):
    """A hand on a window at which nobody has opened an image yet."""
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    viewer.window.resize(1280, 800)
    made = Hand(viewer, dock)
    yield made
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def trace(dock, folder):
    """Open an image of a drawn canal with an open trace."""
    dock.show_session(Session.open(write_pixels(folder / "drawn.png", canal_pixels())))
    dock.session.apply(dock.session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    dock.set_tooth("11")
    dock.mark_canal()
    dock.marker.keep("canal", CLICKS)
    assert dock.session.proposal is not None


def type_in(hand, field, text):
    """Type over what stands in a field."""
    field.setFocus()
    QApplication.processEvents()
    field.selectAll()
    hand.type(text, on=field)


@pytest.mark.gui
def test_enter_and_escape_in_a_field_leave_an_open_trace_alone_and_enter_presses_a_button(hand, tmp_path):
    dock = hand.dock
    trace(dock, tmp_path)
    fields = {dock.canal.name: "left", dock.reference.length: "13", dock.reference.limit: "0.3"}
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Escape):
        for field, text in fields.items():
            type_in(hand, field, text)
            hand.key(key, on=field)
            assert dock.session.proposal is not None, (field.objectName(), key)
            assert hand.window.focusWidget() is not field
    assert dock.session.annotation.canal.name == "left"
    assert dock.session.annotation.reference.length_mm == 13.0
    dock.canal.drop.setFocus()
    hand.key(Qt.Key.Key_Return, on=dock.canal.drop)
    assert dock.session.proposal is None
    assert dock.session.annotation.canal.path_px == tuple(CLICKS)


def test_escape_brings_back_what_stood_there(marked, qtbot):
    name, length = marked.canal.name, marked.reference.length
    for field, text in ((name, "wrong"), (length, "19")):
        field.selectAll()
        qtbot.keyClicks(field, text)
        qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert name.text() == "single"
    assert length.text() == "21.00 mm"
    marked.take_typed()
    assert marked.session.annotation.canal.name == "single"
    assert marked.session.annotation.reference.length_mm == 21.0


def test_arrows_and_pages_change_no_tooth_and_no_length(marked, qtbot):
    tooth, length = marked.canal.tooth, marked.reference.length
    qtbot.keyClicks(tooth, "46")
    for key in (*ARROWS.values(), Qt.Key.Key_Home, Qt.Key.Key_End):
        qtbot.keyClick(tooth, key)
        tooth.hidePopup()
    for field in (tooth, length):
        qtbot.keyClick(field, Qt.Key.Key_PageDown)
        qtbot.keyClick(field, Qt.Key.Key_PageUp)
        qtbot.keyClick(field, Qt.Key.Key_PageUp)
    assert marked.session.annotation.canal.tooth == tooth.currentText() == "46"
    assert length.value() == marked.session.annotation.reference.length_mm == 21.0


def test_an_arrow_opens_a_list_and_enter_chooses(marked, qtbot):
    rule = marked.canal.rule
    qtbot.keyClick(rule, Qt.Key.Key_Down)
    assert rule.view().isVisible()
    assert marked.session.annotation.canal.terminus is None
    qtbot.keyClick(rule.view(), Qt.Key.Key_Down)
    qtbot.keyClick(rule.view(), Qt.Key.Key_Return)
    assert rule.currentText() == "own offset"
    assert marked.session.annotation.canal.terminus.offset_mm == 1.0


def test_the_focus_is_seen(marked, qtbot):
    dock = marked
    dock.resize(300, 500)
    ring = dock.findChild(object, "radlength_focus_ring")
    assert not ring.isVisible()
    dock.activateWindow()
    bar = dock.area.verticalScrollBar()
    for control in (dock.image.preset, dock.canal.name, dock.record.save, dock.reference.length):
        bar.setValue(bar.maximum() if control is dock.image.preset else 0)
        control.setFocus(Qt.FocusReason.TabFocusReason)
        qtbot.waitUntil(lambda control=control: ring.isVisible() and ring.widget() is control)
        assert control.visibleRegion().boundingRect() == control.rect(), control.objectName()
        edge = dock.grab(ring.rect().translated(ring.mapTo(dock, ring.rect().topLeft()))).toImage()
        seen = edge.pixelColor(edge.width() // 2, 1)
        assert seen.blue() > 200, control.objectName()
    dock.reference.length.clearFocus()
    qtbot.waitUntil(lambda: not ring.isVisible())


def go_to(hand, role, target):
    """Move the chosen point with the arrows to half a pixel of a place."""
    marker = hand.dock.marker
    for _ in range(100):
        away = np.subtract(target, marker.handles(role)[marker.chosen])
        along = int(np.abs(away).argmax())
        if abs(away[along]) <= 0.6:
            return
        way = int(np.sign(away[along]))
        hand.key(ARROWS[along, way], CONTROL if abs(away[along]) > 6 else SHIFT, on=hand.canvas)
    pytest.fail("the arrows lead nowhere")


@pytest.mark.gui
def test_reference_canal_tooth_and_record_without_a_mouse(hand, image_file):
    dock = hand.dock
    dock.open_images([image_file])
    dock.set_assist(False)
    canal = [(150.0, 150.0), (190.0, 150.0), (230.0, 154.0)]
    for role, path in (("reference", canal[::2]), ("canal", canal)):
        for point in path:
            hand.key(Qt.Key.Key_P, on=hand.canvas)
            go_to(hand, role, point)
        hand.key(Qt.Key.Key_Return, on=hand.canvas)
        field = dock.reference.length if role == "reference" else dock.canal.tooth
        assert hand.window.focusWidget() is field
        hand.type("21" if role == "reference" else "11", on=field)
        hand.key(Qt.Key.Key_Return, on=field)
    hand.key(Qt.Key.Key_S, CONTROL, on=hand.canvas)
    record = load_record(image_file)
    assert record.references[0].length_mm == 21.0
    assert record.canals[0].canal.label == "11 single"
    np.testing.assert_allclose(record.canals[0].canal.path_px, canal, atol=0.6)


def test_a_point_without_a_mouse_says_how_it_moves_and_needs_a_tool(dock, viewer, image_file):
    dock.open_images([image_file])
    dock.set_assist(False)
    dock.place_point()
    assert dock.session.annotation.reference.path_px == ((199.5, 149.5),)
    assert "Up moves it by 0.1 pixel, Shift+Up by 1, Ctrl+Up by 10" in words_overlay(viewer).text
    for _ in range(8):
        dock.place_point()
    assert all(0 <= row <= 399 for row, _ in dock.session.annotation.reference.path_px)
    dock.drop()
    before = dock.session.annotation
    dock.place_point()
    assert dock.session.annotation == before
    assert "First R for the reference or C for the canal" in words_overlay(viewer).text


@pytest.mark.gui
def test_a_button_pressed_by_enter_gives_the_keys_to_the_image(hand, image_file):
    dock = hand.dock
    dock.open_images([image_file])
    dock.set_assist(False)
    for control in (dock.canal.mark, dock.reference.mark, dock.canal.mark):
        control.setFocus()
        hand.key(Qt.Key.Key_Return, on=control)
        assert hand.window.focusWidget() is not control
    dock.image.whole.setFocus()
    hand.key(Qt.Key.Key_P, on=dock.image.whole)
    assert hand.window.focusWidget() is not dock.image.whole
    before = dock.session.annotation.canal.path_px[0]
    hand.key(Qt.Key.Key_Up)
    assert dock.session.annotation.canal.path_px[0] == pytest.approx((before[0] - 0.1, before[1]))
    assert dock.session.annotation.canal.name == "single"


@pytest.mark.gui
def test_undo_and_back_keep_the_keys_to_be_pressed_again(hand, image_file):
    dock = hand.dock
    dock.open_images([image_file])
    dock.set_assist(False)
    dock.mark_canal()
    for row in (60.0, 200.0, 340.0):
        dock.marker.keep("canal", [*dock.session.annotation.canal.path_px, (row, 150.0)])
    for control, left in ((dock.canal.back, 2), (dock.record.undo, 3)):
        control.setFocus()
        hand.key(Qt.Key.Key_Return, on=control)
        assert hand.window.focusWidget() is control
        assert len(dock.session.annotation.canal.path_px) == left


@pytest.mark.usefixtures("surely")
def test_enter_after_handing_in_does_not_hand_in_the_next_exercise(dock, tmp_path):
    """A point placed by a key and Enter would be final: the button that was pressed must not keep the keys."""
    dock.exercise.open_set(published(tmp_path))
    dock.exercise.begin.code.setText("A07")
    dock.exercise.begin.start.click()
    answer = truth(1)
    for role, path in (("reference", answer.reference_px), ("canal", answer.canal_px)):
        if role in dock.marker.roles:
            dock.marker.keep(role, clicks_on(path, 6))
    before, control = dock.exercise.task.progress.text(), dock.exercise.task.hand_in
    control.setFocus()
    control.click()
    assert dock.exercise.task.progress.text() != before
    assert dock.window().focusWidget() is not control


@pytest.mark.gui
def test_every_canal_is_reached_by_a_key(hand, image_file):
    dock = hand.dock
    dock.open_images([image_file])
    dock.set_assist(False)
    for number, name in enumerate(("MB", "ML", "D")):
        if number:
            dock.session.add_canal("46", name)
        dock.session.apply(dock.session.with_canal(tooth="46", name=name))
        column = 100.0 + 20 * number
        dock.session.apply(dock.session.with_canal_path([(60.0, column), (320.0, column)]))
    seen = []
    for _ in range(4):
        hand.key(Qt.Key.Key_N, SHIFT, on=hand.canvas)
        seen.append(dock.session.annotation.canal.name)
    assert seen == ["MB", "ML", "D", "MB"]
    assert dock.headline.what.text() == "46 MB"
    assert len(dock.session.annotation.canals) == 3
