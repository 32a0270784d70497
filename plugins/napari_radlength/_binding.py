"""Keys: bound on the viewer and on the layers of marks, whose own keys would win over the viewer's."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QEvent, QObject, Qt
from qtpy.QtGui import QKeySequence

from napari_radlength._keys import KEYS, Key

if TYPE_CHECKING:
    from napari.components import ViewerModel

_NAPARI = {"Return": "Enter", "PgDown": "PageDown", "PgUp": "PageUp"}
_TYPED = ("?",)
"""Keys that stand on another key of every keyboard: known by what they type, not by where they are."""


class KeyBinding(QObject):
    """The keys of one dock.

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
        self._mine = {QKeySequence(entry.key).toString() for entry in KEYS}

    def bind(self) -> None:
        """Bind the keys; doing it twice changes nothing."""
        for entry in _bound():
            self._viewer.bind_key(napari_key(entry.key), self._call(entry.action), overwrite=True)
        window = self._dock.window()
        if window is not self._dock and self._window is None:
            self._window = weakref.ref(window)
            window.installEventFilter(self)

    def bind_layer(self, layer: Any) -> None:
        """Bind the keys on a layer of marks too."""
        for entry in _bound():
            layer.bind_key(napari_key(entry.key), self._call(entry.action), overwrite=True)

    def release(self) -> None:
        """Give the keys back."""
        for entry in _bound():
            self._viewer.bind_key(napari_key(entry.key), None)
        window = self._window() if self._window is not None else None
        if window is not None:
            window.removeEventFilter(self)
        self._window = None

    def release_layer(self, layer: Any) -> None:
        """Give the keys of a layer back."""
        for entry in _bound():
            layer.bind_key(napari_key(entry.key), None)

    def _call(self, action: str) -> Callable[[Any], None]:
        return lambda _where: getattr(self._dock, action)()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep a menu's shortcut from taking a key of ours, and ask before unsaved work is closed."""
        if event.type() == QEvent.Type.ShortcutOverride:
            pressed = QKeySequence(event.keyCombination()).toString()  # type: ignore[attr-defined]
            if pressed in self._mine:
                event.accept()
                if event.key() == Qt.Key.Key_Question:  # type: ignore[attr-defined]
                    self._dock.show_keys()
                return True
        if event.type() == QEvent.Type.Close:
            if not self._dock.may_close():
                event.ignore()
                return True
            self._dock.let_go()
        return False


def _bound() -> list[Key]:
    return [entry for entry in KEYS if entry.key not in _TYPED]


def napari_key(key: str) -> str:
    """Return a key as napari writes it.

    Examples
    --------
    >>> napari_key("Ctrl+Shift+Z"), napari_key("PgUp")
    ('Ctrl-Shift-Z', 'PageUp')
    """
    return _NAPARI.get(key) or key.replace("+", "-")
