"""Fields that keep what is typed to themselves: Enter and Esc end the typing and reach no proposal and no mark."""

from __future__ import annotations

from typing import Any

from qtpy.QtCore import Qt
from qtpy.QtWidgets import QDoubleSpinBox, QLineEdit

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
PAGES = (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown)


class Line(QLineEdit):
    """A line of words; Esc brings back what stood there and gives the keys back to the image.

    Parameters
    ----------
    text
        What stands there at first.
    leaves
        Whether Enter gives the keys back to the image too.
    """

    def __init__(self, text: str = "", *, leaves: bool = False) -> None:
        super().__init__(text)
        self._leaves = leaves
        self._before = text
        self.editingFinished.connect(self._remember)

    def _remember(self) -> None:
        self._before = self.text()

    def setText(self, text: str | None) -> None:
        """Show words, which Esc brings back."""
        super().setText(text)
        self._remember()

    def keyPressEvent(self, event: Any) -> None:
        """Type."""
        if event.key() == Qt.Key.Key_Escape:
            self.setText(self._before)
            self.clearFocus()
            return
        super().keyPressEvent(event)
        if event.key() in ENTER:
            event.accept()
            if self._leaves:
                self.clearFocus()


class Number(QDoubleSpinBox):
    """A number; Enter takes it, Esc brings back the last one, and the keys for pages change none."""

    def keyPressEvent(self, event: Any) -> None:
        """Type."""
        if event.key() in PAGES:
            event.ignore()
            return
        if event.key() == Qt.Key.Key_Escape:
            self.setValue(self.value())
            self.clearFocus()
            return
        super().keyPressEvent(event)
        if event.key() in ENTER:
            event.accept()
            self.clearFocus()
