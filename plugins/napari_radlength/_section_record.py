"""Undo, redo, save, report, and marks that an earlier process never saved."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

from qtpy.QtWidgets import QFileDialog, QVBoxLayout, QWidget

from napari_radlength._keys import key_of
from napari_radlength._notify import told
from napari_radlength._reporting import FILTER, check_place, report_place, report_steps, write_report
from napari_radlength._widgets import FIRST, Section, button, enable, label, row
from napari_radlength._work import Work
from radlength.session import Session

UNSAVED = "Save the record first: a report tells what is saved."


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
    """Undo, redo, save, report."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Record")
        self.undo = button("Undo", "radlength_undo", dock.undo, action="undo")
        self.redo = button("Redo", "radlength_redo", dock.redo, action="redo")
        self.save = button("Save the record", "radlength_save", dock.save, action="save")
        self.keys = button(
            "Keys ?", "radlength_keys", dock.show_keys, tip="table of all keys", action="show_keys"
        )
        self.report = button(
            "Report…", "radlength_report", self.ask_for_report, tip="pages, picture or table of what is saved"
        )
        self.words = label("radlength_record_words")
        self._dock = dock
        self.work = Work(
            dock.work, lambda: self.words.setText("The report was given up; nothing is written.")
        )
        column = QVBoxLayout(self)
        column.addLayout(row(self.undo, self.redo, self.keys))
        column.addLayout(row(self.save, self.report))
        column.addWidget(self.words)

    def show_session(self, session: Session | None) -> None:
        """Show what can be undone and saved, and why not."""
        if session is None:
            for control in (self.undo, self.redo, self.save, self.report):
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
        enable(self.report, self.save.isEnabled() and not session.is_dirty, UNSAVED)
        self.words.setText("unsaved marks" if session.is_dirty else "all marks are in the record")

    def ask_for_report(self) -> None:
        """Ask where a report goes, and make it on a thread; it is written when it is whole."""
        session = self._dock.session
        image = session.radiograph.path if session is not None else None
        if image is None:
            return
        name, chosen = QFileDialog.getSaveFileName(self, "Report", str(image.with_suffix("")), FILTER)
        if name:
            self.make_report(image, report_place(name, chosen))

    def make_report(self, image: Path, place: Path) -> None:
        """Make a report of the saved record of an image."""
        records_dir = self._dock.records_dir
        with told():
            check_place(place, image, records_dir)
            suffix = place.suffix.lower()
            self.work.start(
                f"report {place.name}",
                lambda: report_steps(image, records_dir, suffix),
                lambda content: self._write(place, content),
            )

    def _write(self, place: Path, content: bytes) -> None:
        write_report(place, content)
        self.words.setText(escape(f"report written: {place.name}"))
