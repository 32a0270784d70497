"""A ring around the control that has the keys: the theme of the viewer hardly shows which that is."""

from __future__ import annotations

from typing import Any

from qtpy.QtGui import QColor, QPainter, QPen
from qtpy.QtWidgets import QApplication, QFocusFrame, QScrollArea, QWidget

from napari_radlength._palette import FOCUS

MARGIN = 8
"""Pixels above and below what is brought into sight."""


class FocusRing(QFocusFrame):
    """Follows the focus inside one widget.

    Parameters
    ----------
    inside
        Whose controls are ringed.
    scrolled
        The part of it that scrolls.
    """

    def __init__(self, inside: QWidget, scrolled: QScrollArea) -> None:
        super().__init__(inside)
        self.setObjectName("radlength_focus_ring")
        self._inside = inside
        self._scrolled = scrolled
        self.hide()
        self._colour = QColor(FOCUS["dark"])
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self.follow)

    def set_theme(self, theme: str) -> None:
        """Take the colour that is seen on a dark or a light theme."""
        self._colour = QColor(FOCUS[theme])
        self.update()

    def follow(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Ring what has the focus now, where it is a control of ours, and bring it into sight."""
        ours = now is not None and self._inside.isAncestorOf(now)
        self.setWidget(now if ours else None)  # type: ignore[arg-type]
        if now is not None and self._scrolled.isAncestorOf(now):
            self._scrolled.ensureWidgetVisible(now, 0, MARGIN)

    def paintEvent(self, _event: Any) -> None:
        """Draw the ring."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self._colour, 2))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 3, 3)
        painter.end()
