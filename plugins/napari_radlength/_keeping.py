"""Saving, unsaved marks kept safe for the next time, and one question before they are closed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QTimer
from qtpy.QtWidgets import QDoubleSpinBox, QLineEdit, QMessageBox, QWidget

from napari_radlength._notify import told
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel

AUTOSAVE_MS = 1000


class KeepingActions(QWidget):
    """The part of the dock that keeps marks."""

    _viewer: ViewerModel
    _session: Session | None
    _sessions: dict[tuple[str, str], Session]
    recovery: Any
    _undecided = False
    ask_on_close = False

    def _refresh(self, _marks: object = None) -> None:
        raise NotImplementedError

    def _make_autosave(self) -> QTimer:
        """Return a timer that keeps what is not saved, a moment after the last change."""
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(AUTOSAVE_MS)
        timer.timeout.connect(self.keep_unsaved)
        return timer

    def save(self) -> None:
        """Save the record, with what is typed and not entered yet."""
        self.take_typed()
        if self._session is not None:
            with told():
                path = self._session.save()
                self._viewer.status = f"record saved: {path.name}"
            self._refresh()

    def take_typed(self) -> None:
        """Take a number or a name that was typed and not entered."""
        for field in self.findChildren(QDoubleSpinBox):
            field.interpretText()
        here = self.window().focusWidget()
        if isinstance(here, QLineEdit) and self.isAncestorOf(here):
            here.clearFocus()

    def keep_unsaved(self) -> None:
        """Keep what is not saved in a file of its own, for after a crash; not while older marks wait for a choice."""
        if self._session is not None and not self._undecided:
            with told():
                self._session.keep_unsaved()

    def _look_for_unsaved(self) -> None:
        self._undecided = False
        if self._session is not None:
            with told():
                self._undecided = self._session.unsaved() is not None
        self.recovery.setVisible(self._undecided)

    def recover(self) -> None:
        """Bring back marks that were never saved: one undo step."""
        if self._session is not None:
            with told():
                found = self._session.unsaved()
                if found is not None:
                    self._session.apply(found)
        self.leave_unsaved()

    def leave_unsaved(self) -> None:
        """Go on without marks that were never saved."""
        self._undecided = False
        self.recovery.hide()

    def may_close(self) -> bool:
        """Ask once where work is unsaved; what is not saved is kept for the next time either way.

        Something proposed and not accepted cannot be saved: then the window stays open and says so.
        """
        self.take_typed()
        unsaved = [one for one in self._sessions.values() if one.is_unfinished]
        if not (self.ask_on_close and unsaved):
            return True
        buttons = QMessageBox.StandardButton
        words = f"Marks on {', '.join(one.radiograph.name for one in unsaved)} are not in the record."
        proposed = [one.radiograph.name for one in unsaved if one.proposal is not None]
        if proposed:
            words += f" What is proposed on {', '.join(proposed)} is neither accepted nor dropped."
        answer = QMessageBox.question(
            self,
            "Unsaved marks",
            words,
            buttons.Save | buttons.Discard | buttons.Cancel,
        )
        if answer == buttons.Save:
            with told():
                for one in unsaved:
                    one.save()
            return not any(one.is_unfinished for one in unsaved)
        return bool(answer != buttons.Cancel)
