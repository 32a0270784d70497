"""Undo, redo, save, and marks that an earlier process never saved."""

from __future__ import annotations

from typing import Any

from qtpy.QtWidgets import QVBoxLayout, QWidget

from napari_radlength._keys import key_of
from napari_radlength._widgets import FIRST, Section, button, enable, label, row
from radlength.session import Session


class Recovery(QWidget):
    """Says that unsaved marks of an earlier time are there; shown only then."""

    def __init__(self, dock: Any) -> None:
        super().__init__()
        self.words = label("radlength_recovery", bold=True)
        self.words.setText(
            "Marks of an earlier time were never saved. New marks are not kept safe until you choose."
        )
        self.bring = button(
            "Bring them back",
            "radlength_recover",
            dock.recover,
            tip="bring unsaved marks back; undo takes them away",
        )
        self.leave = button(
            "Leave them",
            "radlength_leave",
            dock.leave_unsaved,
            tip="leave unsaved marks; they are written over later",
        )
        column = QVBoxLayout(self)
        column.addWidget(self.words)
        column.addLayout(row(self.bring, self.leave))
        self.hide()


class RecordSection(Section):
    """Undo, redo, save."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Record")
        self.undo = button("Undo", "radlength_undo", dock.undo, action="undo")
        self.redo = button("Redo", "radlength_redo", dock.redo, action="redo")
        self.save = button("Save the record", "radlength_save", dock.save, action="save")
        self.keys = button(
            "Keys ?", "radlength_keys", dock.show_keys, tip="table of all keys", action="show_keys"
        )
        self.words = label("radlength_record_words")
        column = QVBoxLayout(self)
        column.addLayout(row(self.undo, self.redo, self.keys))
        column.addWidget(self.save)
        column.addWidget(self.words)

    def show_session(self, session: Session | None) -> None:
        """Show what can be undone and saved, and why not."""
        if session is None:
            for control in (self.undo, self.redo, self.save):
                enable(control, False, FIRST)
            self.words.setText("")
            return
        enable(self.undo, session.can_undo, "Nothing to undo.")
        enable(self.redo, session.can_redo, "Nothing to redo.")
        if session.radiograph.path is None:
            enable(self.save, False, "The image is not a file.")
        else:
            enable(
                self.save,
                session.proposal is None,
                f"Accept what is proposed ({key_of('go_on')}) or drop it ({key_of('drop')}) first.",
            )
        self.words.setText("unsaved marks" if session.is_dirty else "all marks are in the record")
