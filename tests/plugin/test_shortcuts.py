"""Keys in napari's own preferences: shown there, changed there, pressed in the window, and given back."""

import pytest
from helpers.window_play import Hand
from napari._qt.widgets.qt_keyboard_settings import ShortcutEditor
from napari.settings import get_settings
from napari.utils.action_manager import action_manager
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock
from napari_radlength._keys import KEYS, help_text, key_of
from napari_radlength._shortcuts import PREFIX, follow_settings
from napari_radlength._viewer import words_overlay

pytestmark = pytest.mark.gui
NAME = f"{PREFIX}mark_canal"


@pytest.fixture
def hand(make_napari_viewer, image_file):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.open_images([image_file])
    made = Hand(viewer, dock)
    yield made
    get_settings().shortcuts.reset()
    follow_settings()
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def editor_row(editor, name):
    """Return the row of an action in napari's editor of shortcuts."""
    table = editor._table
    return next(row for row in range(table.rowCount()) if table.item(row, editor._action_col).text() == name)


def test_a_key_changed_in_naparis_preferences_is_the_key(hand):
    dialog = hand.viewer.window._open_preferences_dialog()
    editor = dialog.findChild(ShortcutEditor)
    row = editor_row(editor, NAME)
    assert editor._table.item(row, editor._action_name_col).text() == "Working length: mark the canal"
    assert editor._table.item(row, editor._shortcut_col).text() == "C"
    editor._table.item(row, editor._shortcut_col).setText("J")
    dialog.accept()
    QApplication.processEvents()
    assert [str(key) for key in get_settings().shortcuts.shortcuts[NAME]] == ["J"]
    hand.dock.drop()
    hand.key(Qt.Key.Key_C, on=hand.canvas)
    assert hand.dock.marker.tool is None
    hand.key(Qt.Key.Key_J, on=hand.canvas)
    assert hand.dock.marker.tool == "canal"
    assert "J: mark the canal" in help_text()
    assert hand.dock.canal.mark.toolTip() == "key J"
    hand.dock.drop()
    assert "J: mark the canal" in words_overlay(hand.viewer).text
    get_settings().shortcuts.reset()
    QApplication.processEvents()
    hand.key(Qt.Key.Key_C, on=hand.canvas)
    assert hand.dock.marker.tool == "canal"
    assert key_of("mark_canal") == "C"


def test_the_users_keys_are_there_at_the_next_start_and_one_may_have_none(hand):
    stored = dict(get_settings().shortcuts.shortcuts)
    get_settings().shortcuts.shortcuts = stored | {NAME: ["K", "Shift+K"], f"{PREFIX}next_preset": []}
    QApplication.processEvents()
    lines = help_text().splitlines()
    assert "K or Shift+K: mark the canal" in lines
    assert "no key: next way to show the grey values" in lines
    hand.dock.drop()
    hand.key(Qt.Key.Key_K, Qt.KeyboardModifier.ShiftModifier, on=hand.canvas)
    assert hand.dock.marker.tool == "canal"
    before = hand.dock.image.preset.currentIndex()
    hand.key(Qt.Key.Key_V, on=hand.canvas)
    assert hand.dock.image.preset.currentIndex() == before


def test_every_key_is_an_action_of_napari_and_leaves_its_own_alone(hand):
    for entry in KEYS:
        assert PREFIX + entry.action in action_manager._actions
    hand.dock.hide()
    assert len(hand.viewer.keymap) == 0
    hand.dock.show()
    assert len(hand.viewer.keymap) == len(KEYS) + sum(bool(one.also) for one in KEYS)
