"""What happens while a point is in the hand: keys, another image, the edge of the image, words that would be old."""

import numpy as np
import pytest
from helpers.marked_dock import CANAL, layer, mark
from helpers.window_play import Hand
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtTest import QTest
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock

pytestmark = pytest.mark.gui
LEFT = Qt.MouseButton.LeftButton
CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hand(make_napari_viewer, qtbot, image_file, tmp_path):
    """A hand on a marked image, with a second image beside it; the program traces nothing."""
    other = tmp_path / "z-other.png"
    other.write_bytes(image_file.read_bytes())
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    viewer.window.resize(1280, 800)
    dock.open_images([image_file, other])
    dock.show_session(dock.session_of(image_file))
    dock.set_assist(False)
    mark(dock.session)
    dock.mark_canal()
    qtbot.waitUntil(lambda: viewer.window._qt_window.height() == 800)
    dock.fit()
    QApplication.processEvents()
    made = Hand(viewer, dock)
    yield made
    QTest.qWait(30)  # the canvas tells the last move of the mouse a little later: it must still be there
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def take(hand, which, to):
    """Take hold of a point of the canal and move it; the button stays down. Returns where it is now."""
    first, last = hand.spot(CANAL[which]), hand.spot(to)
    hand.move(first)
    QTest.mousePress(hand.canvas, LEFT, pos=first)
    for part in (0.5, 1.0):
        hand.move(first + (last - first) * part, LEFT)
    return last


def go_on(hand, to):
    """Move on with the button down, and let go."""
    last = hand.spot(to)
    hand.move(last, LEFT)
    QTest.mouseRelease(hand.canvas, LEFT, pos=last)


def path(hand):
    return np.round(hand.dock.session.annotation.canal.path_px, 0).tolist()


def test_escape_puts_the_point_back(hand):
    before, steps = path(hand), hand.dock.headline.length.text()
    take(hand, 2, (190, 190))
    assert path(hand) != before
    hand.key(Qt.Key.Key_Escape, on=hand.canvas)
    assert path(hand) == before
    assert hand.dock.headline.length.text() == steps
    go_on(hand, (200, 200))
    assert path(hand) == before
    assert hand.dock.marker.tool == "canal"


def test_escape_puts_back_a_point_of_a_trace_that_is_open(hand):
    dock = hand.dock
    dock.set_assist(True)
    dock.marker.keep("canal", CANAL)
    clicks = dock.session.proposal.clicks_px
    take(hand, 2, (190, 165))
    assert dock.session.proposal.clicks_px != clicks
    hand.key(Qt.Key.Key_Escape, on=hand.canvas)
    go_on(hand, (195, 168))
    assert dock.session.proposal.clicks_px == clicks


@pytest.mark.parametrize("which", [2, 5])
def test_a_point_deleted_in_the_hand_is_gone_and_moves_no_other(hand, which):
    take(hand, which, (CANAL[which][0], CANAL[which][1] + 20))
    hand.key(Qt.Key.Key_Delete, on=hand.canvas)
    go_on(hand, (210, 210))
    assert path(hand) == [[round(row), round(column)] for n, (row, column) in enumerate(CANAL) if n != which]


def test_undo_in_a_drag_takes_back_the_step_before_and_ends_the_drag(hand):
    session = hand.dock.session
    session.apply(session.with_canal_path(CANAL[:-1]))
    take(hand, 2, (190, 190))
    hand.key(Qt.Key.Key_Z, CONTROL, on=hand.canvas)
    go_on(hand, (200, 200))
    assert path(hand) == [[round(row), round(column)] for row, column in CANAL]


def test_another_image_shown_in_a_drag_leaves_the_marks_of_the_first(hand):
    first = hand.dock.session
    kept = first.annotation
    take(hand, 2, (190, 190))
    hand.key(Qt.Key.Key_PageDown, on=hand.canvas)
    assert hand.dock.session is not first
    go_on(hand, (200, 200))
    assert first.annotation == kept
    assert not hand.dock.session.is_dirty


def test_a_point_dragged_off_the_image_stops_at_its_edge(hand):
    dock = hand.dock
    take(hand, 0, (-30, 150))
    assert path(hand)[0] == [0.0, 150.0]
    go_on(hand, (-40, 140))
    assert path(hand)[0] == [0.0, 140.0]
    assert dock.headline.length.text() != "no length yet"


def test_the_words_at_the_apex_are_away_while_they_would_be_old(hand):
    words = layer(hand.viewer, "lengths")
    assert len(words.text.values)
    take(hand, 5, (380, 200))
    assert not words.text.visible
    go_on(hand, (385, 205))
    assert words.text.visible
    told = str(words.features["words"].iloc[0]).rpartition(" length ")[2]
    assert hand.dock.headline.length.text().startswith(told.removesuffix(" mm"))
    take(hand, 4, (320, 200))
    hand.key(Qt.Key.Key_Escape, on=hand.canvas)
    assert words.text.visible
    go_on(hand, (320, 210))


def test_lines_that_move_keep_their_shaders_and_are_still_drawn(hand, monkeypatch):
    """A mesh of vispy makes its shaders anew with all data it is given, at every step of a drag."""
    from vispy.visuals.shaders.program import ModularProgram

    take(hand, 2, (190, 190))
    QApplication.processEvents()
    built, build = [], ModularProgram._build

    def counted(program):
        built.append(program)
        build(program)

    node = hand.viewer.window._qt_viewer.canvas.layer_to_visual[layer(hand.viewer, "current")].node
    own = {id(one) for one in node.shared_program}
    monkeypatch.setattr(ModularProgram, "_build", counted)
    before = hand.viewer.screenshot(canvas_only=True, flash=False)
    for column in (195, 200, 205):
        hand.move(hand.spot((190, column)), LEFT)
        QApplication.processEvents()
    after = hand.viewer.screenshot(canvas_only=True, flash=False)
    assert not [one for one in built if id(one) in own]
    assert (before != after).any()
    go_on(hand, (190, 190))
