"""Saving, unsaved marks kept safe for the next time, and one question before they are closed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QTimer
from qtpy.QtWidgets import QDoubleSpinBox, QLineEdit, QMessageBox, QWidget

from napari_radlength._marking import Marker, tool_for
from napari_radlength._notify import told
from radlength.errors import RadlengthError, RecordError
from radlength.session import Session
from radlength.session.exchanged import same_picture

if TYPE_CHECKING:
    from napari.components import ViewerModel

AUTOSAVE_MS = 1000
CLOSING = {"Save": "Save and close", "Discard": "Close without saving", "Cancel": "Stay"}
"""The buttons of the question before closing, by their place in a dialog of Qt."""
KEPT = (
    "Without saving they stay in a file beside the record: when the image is opened again, you are asked whether to "
    "bring them back or drop them."
)


class KeepingActions(QWidget):
    """The part of the dock that keeps marks."""

    _viewer: ViewerModel
    _session: Session | None
    _sessions: dict[tuple[str, str], Session]
    _marker: Marker | None
    recovery: Any
    records_dir: Path | None
    show_session: Any
    forget: Any
    _refused = ""
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
                path = self._saved(self._session)
                self._viewer.status = f"record saved: {path.name}"
            self._refresh()

    def _saved(self, session: Session) -> Path:
        """Save, and offer to read record and image again where another program has written them."""
        try:
            return session.save()
        except RecordError as exc:
            if session is self._session:
                self.recovery.show_changed(exc)
            raise

    def take_typed(self) -> None:
        """Take a number or a name that was typed and not entered."""
        for field in self.findChildren(QDoubleSpinBox):
            field.interpretText()
        here = self.window().focusWidget()
        if isinstance(here, QLineEdit) and self.isAncestorOf(here):
            here.clearFocus()

    def keep_unsaved(self) -> None:
        """Keep what is not saved in a file of its own, for after a crash; the same refusal is said once."""
        if self._session is not None:
            with told():
                try:
                    self._session.keep_unsaved()
                except RadlengthError as exc:
                    said, self._refused = self._refused, str(exc)
                    if said != self._refused:
                        raise
                else:
                    self._refused = ""

    def _look_for_unsaved(self) -> None:
        found = None
        if self._session is not None:
            with told():
                found = self._session.find_unsaved()
        self.recovery.show_found(found)

    def recover(self) -> None:
        """Bring back marks that were never saved: one undo step."""
        if self.recovery.changed:
            self.read_again()
        elif self._session is not None:
            with told():
                found = self._session.find_unsaved()
                if found is None or found.marks is None:
                    raise RecordError(
                        "the unsaved marks are no longer there",
                        remedy="another window on this image saved them or dropped them",
                        code="unsaved-gone",
                        subject=self._session.radiograph.name,
                    )
                self._session.apply(found.marks)
                self._session.take_over(found)
                if self._marker is not None:
                    self._marker.use(tool_for(found.marks))
            self._look_for_unsaved()
            self._refresh()

    def read_again(self) -> None:
        """Read a record again that another program has written; the marks are offered as unsaved ones.

        Where the image was exchanged too, the new one is shown.
        """
        old = self._session
        if old is None or old.radiograph.path is None:
            return
        with told():
            old.discard()
            old.keep_unsaved()
            session = Session.open(old.radiograph.path, records_dir=self.records_dir, show_other=True)
            same = same_picture(session.radiograph, old.radiograph)
            if same:
                session.radiograph = old.radiograph
            self.show_session(session)
            if not same:
                self.forget(old)

    def drop_unsaved(self) -> None:
        """Go on without marks that were never saved, and show the next; those of another picture stay."""
        found = self.recovery.found
        if found is not None and found.marks is None:
            self.recovery.show_found(None)
            return
        if self._session is not None and found is not None:
            self._session.take_over(found)
            self.keep_unsaved()
        self._look_for_unsaved()

    def _ask(self, words: str) -> Any:
        """Ask what becomes of unsaved marks; each button says what it does, since closing loses none of them."""
        buttons = QMessageBox.StandardButton
        box = QMessageBox(QMessageBox.Icon.Question, "Unsaved marks", words, parent=self)
        for which, name in CLOSING.items():
            box.addButton(getattr(buttons, which)).setText(name)
        box.setDefaultButton(buttons.Save)
        box.setEscapeButton(buttons.Cancel)
        box.exec()
        return box.standardButton(box.clickedButton())

    def may_close(self) -> bool:
        """Ask once where work is unsaved; what is not saved is kept for the next time either way.

        Something proposed and not accepted cannot be saved: then the window stays open and says so.
        """
        self.take_typed()
        unsaved = [one for one in self._sessions.values() if one.is_unfinished]
        if not (self.ask_on_close and unsaved):
            return True
        buttons = QMessageBox.StandardButton
        answer = self._ask(closing_words(unsaved))
        if answer == buttons.Save:
            for one in unsaved:
                with told():
                    self._saved(one)
            return not any(one.is_unfinished for one in unsaved)
        return bool(answer != buttons.Cancel)


def closing_words(unsaved: Sequence[Session]) -> str:
    """Return what is asked before marks that are not in their records are closed, and what becomes of them."""
    words = f"Marks on {', '.join(one.radiograph.name for one in unsaved)} are not in the record."
    proposed = [one.radiograph.name for one in unsaved if one.proposal is not None]
    if proposed:
        words += (
            f" What is proposed on {', '.join(proposed)} is neither accepted nor dropped; closing drops it."
        )
    kept = [one.radiograph.name for one in unsaved if one.is_dirty and one.radiograph.path is not None]
    if kept:
        words += f"\n\n{KEPT}"
    return words
