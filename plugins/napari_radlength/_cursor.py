"""When and where the magnifier is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from qtpy.QtCore import QElapsedTimer, QEvent, QObject, QPoint, QRect, QTimer
from qtpy.QtGui import QCursor
from qtpy.QtWidgets import QApplication, QWidget

from napari_radlength._inset import Inset
from napari_radlength._viewer import is_flat

if TYPE_CHECKING:
    from napari.components import ViewerModel

APART_MS = 20


class CursorInset(QObject):
    """The magnifier of one dock: there while something is marked and the cursor is on the image.

    Parameters
    ----------
    dock
        The dock.
    viewer
        Whose mouse it follows.
    """

    def __init__(self, dock: Any, viewer: ViewerModel) -> None:
        super().__init__(dock)
        self._dock = dock
        self._viewer = viewer
        self._inset: Inset | None = None
        self._grey: NDArray[np.float32] | None = None
        self._clock = QElapsedTimer()
        self._clock.start()
        self._place = (0.0, 0.0)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._show)
        self._canvas: QWidget | None = None
        self.wanted = True

    def connect(self) -> None:  # type: ignore[override]
        """Follow the mouse; doing it twice changes nothing."""
        if self.on_move not in self._viewer.mouse_move_callbacks:
            self._viewer.mouse_move_callbacks.append(self.on_move)

    def disconnect(self) -> None:  # type: ignore[override]
        """Let go of the mouse."""
        if self.on_move in self._viewer.mouse_move_callbacks:
            self._viewer.mouse_move_callbacks.remove(self.on_move)
        self._hide()

    def show_grey(self, grey: NDArray[np.float32], window: tuple[float, float], *, inverted: bool) -> None:
        """Magnify these grey values, as the image shows them."""
        low, high = window
        shown = np.clip((grey - low) / np.float32(high - low), 0, 1)
        self._grey = 1 - shown if inverted else shown

    def toggle(self) -> None:
        """On or off."""
        self.wanted = not self.wanted
        self._hide()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Hide the magnifier when the cursor leaves the image's part of the window."""
        del watched
        if event.type() == QEvent.Type.Leave:
            self._hide()
        return False

    def _hide(self) -> None:
        self._soon.stop()
        if self._inset is not None:
            self._inset.hide()

    def on_move(self, _viewer: Any, event: Any) -> None:
        """Show what is under the cursor: at once, or a moment later where one was shown just now."""
        marker, layers = self._dock.marker, self._dock.layers
        image = layers.image if layers is not None else None
        wanted = self.wanted and marker is not None and marker.tool is not None and is_flat(self._viewer)
        if not wanted or image is None or self._grey is None:
            self._hide()
            return
        row, column = image.world_to_data(event.position)[-2:]
        self._place = float(row), float(column)
        if self._clock.elapsed() < APART_MS:
            self._soon.start(APART_MS)
        else:
            self._show()

    def _show(self) -> None:
        if self._grey is None:
            return
        self._clock.restart()
        row, column = self._place
        rows, columns = self._grey.shape
        if not (0 <= row < rows and 0 <= column < columns):
            self._hide()
            return
        window = self._dock.window()
        if self._inset is None or self._inset.parentWidget() is not window:
            self._inset = Inset(window)
        cursor = QCursor.pos()
        self._inset.show_at(self._grey, row, column, window.mapFromGlobal(cursor), self._room(cursor, window))

    def _room(self, cursor: QPoint, window: QWidget) -> QRect:
        """Return the part of the window that shows the image, which the cursor is on; all of it where it is not."""
        here = QApplication.widgetAt(cursor)
        if here is None or here.window() is not window or self._dock.isAncestorOf(here):
            return window.rect()
        if here is not self._canvas:
            if self._canvas is not None:
                self._canvas.removeEventFilter(self)
            self._canvas = here
            here.installEventFilter(self)
        return QRect(here.mapTo(window, QPoint(0, 0)), here.size())
