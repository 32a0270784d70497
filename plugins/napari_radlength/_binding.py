"""Keys: bound on the viewer and on the layers of marks, whose own keys would win over the viewer's."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from app_model.backends.qt import qkeysequence2modelkeybinding
from napari.utils.action_manager import action_manager
from qtpy.QtCore import QEvent, QObject, Qt, QTimer
from qtpy.QtGui import QKeySequence

from napari_radlength._keys import KEYS
from napari_radlength._shortcuts import bindings, call_of, is_ours, register, tell
from napari_radlength._widgets import show_tips

if TYPE_CHECKING:
    from napari.components import ViewerModel


class KeyBinding(QObject):
    """The keys of one dock, as napari's preferences have them.

    Parameters
    ----------
    dock
        Whose methods the keys call.
    viewer
        Where they are pressed.
    """

    def __init__(self, dock: Any, viewer: ViewerModel) -> None:
        super().__init__(dock)
        self._dock = dock
        self._viewer = viewer
        self._window: weakref.ref[QObject] | None = None
        self._where: list[Any] = []
        self._mine: dict[Any, Callable[[Any], None]] = {}
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._bind_soon)
        register()
        self._read()

    def bind(self) -> None:
        """Bind the keys; doing it twice changes nothing."""
        self.bind_layer(self._viewer)
        self._bind_again()
        action_manager.events.shortcut_changed.disconnect(self._on_changed)
        action_manager.events.shortcut_changed.connect(self._on_changed)
        window = self._dock.window()
        if window is not self._dock and self._window is None:
            self._window = weakref.ref(window)
            window.installEventFilter(self)

    def bind_layer(self, where: Any) -> None:
        """Bind the keys on a layer of marks too."""
        if not any(one is where for one in self._where):
            self._where.append(where)
        for key, call in self._mine.items():
            where.bind_key(key, call, overwrite=True)

    def release(self) -> None:
        """Give the keys back."""
        action_manager.events.shortcut_changed.disconnect(self._on_changed)
        self._soon.stop()
        for one in list(self._where):
            self.release_layer(one)
        window = self._window() if self._window is not None else None
        if window is not None:
            window.removeEventFilter(self)
        self._window = None

    def release_layer(self, where: Any) -> None:
        """Give the keys of a layer back."""
        self._where = [one for one in self._where if one is not where]
        for key in self._mine:
            where.bind_key(key, None)

    def _read(self) -> None:
        tell()
        self._mine = {
            key: call_of(entry, getattr(self._dock, entry.action))
            for entry in KEYS
            for key in bindings(entry)
        }
        show_tips(self._dock)

    def _on_changed(self, event: Any) -> None:
        """Take a key that somebody changed in napari's preferences, and say it where keys are said."""
        if is_ours(event.name):
            self._soon.start()

    def _bind_soon(self) -> None:
        self._bind_again()
        self._dock.keys_changed()

    def _bind_again(self) -> None:
        where = self._where
        for one in where:
            self.release_layer(one)
        self._read()
        for one in where:
            self.bind_layer(one)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep a menu's shortcut from taking a key of ours, and ask before unsaved work is closed."""
        if event.type() == QEvent.Type.ShortcutOverride:
            typed = event.key() == Qt.Key.Key_Question  # type: ignore[attr-defined]
            if typed or self._is_mine(event):
                event.accept()
                if typed:
                    self._dock.show_keys()
                return True
        if event.type() == QEvent.Type.Close:
            if not self._dock.may_close():
                event.ignore()
                return True
            self._dock.let_go()
        return False

    def _is_mine(self, event: Any) -> bool:
        if event.key() in (0, Qt.Key.Key_unknown):
            return False
        return qkeysequence2modelkeybinding(QKeySequence(event.keyCombination())) in self._mine
