"""Undo, redo, save, report, and marks that an earlier process never saved."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

from qtpy.QtWidgets import QFileDialog, QPushButton, QVBoxLayout, QWidget

from napari_radlength._keys import key_of
from napari_radlength._notify import told
from napari_radlength._reporting import FILTER, check_place, report_place, report_steps, write_report
from napari_radlength._widgets import FIRST, Section, button, enable, label, row
from napari_radlength._work import Work
from radlength.errors import RecordError
from radlength.session import Session, Unsaved

CHANGED = {
    "record-changed": (
        "Another program has written the record. Read it again: your marks are offered then as unsaved ones."
    ),
    "image-exchanged": (
        "The file holds another picture by now. Read it again: your marks stay in a file beside it, for the picture "
        "that is shown here."
    ),
}
"""What is said where a refusal ends in reading the files again, by its code."""
OTHER = "cannot be saved: the record beside this image belongs to another image"
UNSAVED = "Save the record first: a report tells what is saved."


class Recovery(QWidget):
    """Says that unsaved marks of an earlier time are there; shown only then, above what scrolls."""

    def __init__(self, dock: Any) -> None:
        super().__init__()
        self.found: Unsaved | None = None
        self.changed = False
        self.words = label("radlength_recovery", bold=True)
        self.bring = button("Bring them back", "radlength_recover", dock.recover)
        self.leave = button("Drop them", "radlength_leave", dock.drop_unsaved)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 2, 8, 4)
        column.addWidget(self.words)
        column.addLayout(row(self.bring, self.leave))
        self.hide()

    def show_found(self, found: Unsaved | None) -> None:
        """Say what was found, and ask what becomes of it."""
        self.found, self.changed = found, False
        self.setVisible(found is not None)
        if found is None:
            return
        here = found.marks is not None
        self.words.setText(escape(recovery_words(found)))
        self.bring.setVisible(here)
        self._name(self.bring, "Bring them back", "bring unsaved marks back; undo takes them away")
        if here:
            self._name(self.leave, "Drop them", "forget unsaved marks: the next ones take their place")
        else:
            self._name(self.leave, "Go on", "they stay in their file")

    @staticmethod
    def _name(control: QPushButton, text: str, tip: str) -> None:
        control.setText(text)
        control.setAccessibleName(tip)
        control.setToolTip(tip)

    def show_changed(self, refusal: RecordError) -> None:
        """Offer to read again where record or image on the disk is another one than was read; else nothing."""
        if refusal.code not in CHANGED:
            return
        self.found, self.changed = None, True
        self.words.setText(CHANGED[refusal.code])
        self.bring.show()
        self._name(self.bring, "Read it again", "show image and record as they are on the disk")
        self._name(self.leave, "Not now", "go on with these marks; they are kept, but not in the record")
        self.show()


def recovery_words(found: Unsaved) -> str:
    """Return what is said of unsaved marks."""
    if found.marks is None:
        return (
            f"Marks of {found.day} were never saved. They were made on another picture of this name "
            f"and stay in {found.path.name}."
        )
    since = " The record was saved since: they would take the place of what it holds." * found.saved_since
    return f"Marks of {found.day} were never saved, or are open in another window.{since}"


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
        other = session.other_marks is not None
        saved = self.save.isEnabled() and not session.is_dirty and not other
        enable(self.report, saved, f"No report: {OTHER}." if other else UNSAVED)
        self.words.setText(escape(kept_words(session)))

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


def kept_words(session: Session) -> str:
    """Return whether all marks are in the record, and which are not."""
    if session.radiograph.path is None:
        return ""
    if session.other_marks is not None:
        return OTHER
    if session.is_dirty:
        return "unsaved marks"
    if session.proposal is not None:
        return "what is proposed is not in the record"
    if session.left_out:
        return f"saved; not in the record yet: {', '.join(session.left_out)}"
    marks = session.annotation
    begun = any(one.path_px for one in marks.canals) or any(one.path_px for one in marks.references)
    return "all marks are in the record" if begun else "nothing is marked yet"
