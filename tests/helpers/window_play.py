"""Real mouse and key events on the window of a viewer, counted."""

from __future__ import annotations

import numpy as np
from qtpy.QtCore import QEvent, QPoint, QPointF, Qt
from qtpy.QtGui import QMouseEvent
from qtpy.QtTest import QTest
from qtpy.QtWidgets import QApplication


class Hand:
    """One hand at the mouse and the keys of a window.

    Parameters
    ----------
    viewer
        A viewer that is shown.
    dock
        Its dock, with a session.
    """

    def __init__(self, viewer, dock):
        self.viewer = viewer
        self.dock = dock
        self.window = viewer.window._qt_window
        self.canvas = viewer.window._qt_viewer.canvas.native
        self.count = 0

    def let_go(self):
        """Hold nothing of the window any longer."""
        self.viewer = self.dock = self.window = self.canvas = None

    def spot(self, point):
        """Return where a (row, column) of the image is drawn."""
        world = self.dock.layers.image.data_to_world(point)
        transform = self.viewer.window._qt_viewer.canvas.view.scene.transform
        x, y = transform.map([world[-1], world[-2], 0, 1])[:2]
        return QPoint(round(float(x)), round(float(y)))

    def seen(self, point):
        """Return the (row, column) a click at a point really means: screens have whole pixels."""
        spot = self.spot(point)
        transform = self.viewer.window._qt_viewer.canvas.view.scene.transform
        column, row = transform.imap([spot.x(), spot.y(), 0, 1])[:2]
        return np.array(self.dock.layers.image.world_to_data((row, column)))

    def move(self, spot, buttons=Qt.MouseButton.NoButton):
        """Move the mouse to a place on the canvas, with buttons held."""
        place, there = QPointF(spot), QPointF(self.canvas.mapToGlobal(spot))
        none, keys = Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier
        QTest.qWait(12)  # the canvas leaves out what comes within 10 ms of the last
        event = QMouseEvent(QEvent.Type.MouseMove, place, there, none, buttons, keys)
        QApplication.sendEvent(self.canvas, event)

    def click(self, point):
        """Click on a (row, column) of the image."""
        spot = self.spot(point)
        self.move(spot)
        QTest.mouseClick(self.canvas, Qt.MouseButton.LeftButton, pos=spot)
        self.count += 1

    def drag(self, start, end, steps=4):
        """Drag from one (row, column) to another."""
        first, last = self.spot(start), self.spot(end)
        left = Qt.MouseButton.LeftButton
        self.move(first)
        QTest.mousePress(self.canvas, left, pos=first)
        for n in range(1, steps + 1):
            self.move(first + (last - first) * (n / steps), left)
        QTest.mouseRelease(self.canvas, left, pos=last)
        self.count += 1

    def key(self, key, modifier=Qt.KeyboardModifier.NoModifier, on=None):
        """Press a key where the focus is, or on a widget."""
        QTest.keyClick(
            on or QApplication.focusWidget() or self.window.focusWidget() or self.canvas, key, modifier
        )
        self.count += 1

    def type(self, text, on=None):
        """Type characters."""
        for char in text:
            self.key(char, on=on)
