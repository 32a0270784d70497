"""A section in which words and numbers are typed."""

from __future__ import annotations

from typing import Any

from qtpy.QtCore import Qt

from napari_radlength._widgets import Section


class FormSection(Section):
    """A section that keeps Return in its fields: it ends what is typed there and marks nothing.

    Ctrl+Return, which ends no typing, is the window's.
    """

    def keyPressEvent(self, event: Any) -> None:
        """Let Return go no further; the window would take it for its own key."""
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not control:
            event.accept()
        else:
            super().keyPressEvent(event)
