"""The case of the folder: what the image was taken for, and the lengths and decisions of its canals, to read."""

from __future__ import annotations

from html import escape
from typing import Any

from qtpy.QtCore import QSignalBlocker, QTimer
from qtpy.QtWidgets import QVBoxLayout

from napari_radlength._case_book import FILE_DAY, NOT_STATED, CaseBook, Stated
from napari_radlength._case_words import canal_doubts, canal_lines, missing_words
from napari_radlength._fields import Line
from napari_radlength._form import FormSection
from napari_radlength._section_result import finding_line
from napari_radlength._widgets import FIRST, button, choices, enable, label, row
from radlength.record import Case
from radlength.record.case_images import STAGES
from radlength.record.case_models import ImageAdded
from radlength.session import Session

LOOK_MS = 2000
"""How often the folder is looked at for what another program has written."""
NO_CASE = "These images are no case. A case keeps what each was taken for, the lengths and the decisions."
SAVE_FIRST = "Save the record first: the case takes the marks that are saved."
ELSEWHERE = "The image that is shown does not lie in the folder of this case."
SAID = "The case says so already."


class CaseSection(FormSection):
    """Stage of the image, and what the case says of its canals.

    Parameters
    ----------
    dock
        It knows the case of the images that are open.
    """

    def __init__(self, dock: Any) -> None:
        super().__init__("Case")
        self._dock = dock
        self._shown: object = None
        self._told: tuple[Case, str, str] | None = None
        self.words = label("radlength_case_words")
        self.begin = button(
            "Make a case of this folder",
            "radlength_case_begin",
            dock.begin_case,
            tip="a case file beside the images, with every image of the folder; what each was taken for is said later",
        )
        self.stage = choices("radlength_case_stage", "what the image was taken for", [NOT_STATED, *STAGES])
        self.taken = _line("radlength_case_taken", "the day it was taken, year-month-day", "2026-01-02")
        self.own = _line("radlength_case_label", "a label of your own; 'other' needs one", "label")
        self.keep = button(
            "Keep in the case", "radlength_case_keep", dock.keep_stage, tip="stage, day and label"
        )
        self.canals, self.findings = label("radlength_case_canals"), label("radlength_case_findings")
        column = QVBoxLayout(self)
        column.addWidget(self.words)
        column.addWidget(self.begin)
        column.addWidget(self.stage)
        column.addLayout(row(self.taken, self.own))
        column.addWidget(self.keep)
        column.addWidget(self.canals)
        column.addWidget(self.findings)
        self.stage.currentTextChanged.connect(lambda _text: self._show_keep())
        for line in (self.taken, self.own):
            line.textChanged.connect(lambda _text: self._show_keep())
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(dock.look_at_case)

    @property
    def stated(self) -> Stated:
        """What a person has chosen and typed."""
        return Stated(self._stage, self.own.text().strip(), self.taken.text().strip())

    @property
    def _stage(self) -> str:
        chosen = self.stage.currentText()
        return "" if chosen == NOT_STATED else chosen

    def show_dock(self, dock: Any) -> None:
        """Show the case of the images that are open."""
        book, session = dock.case_book, dock.session
        case = book.case if book is not None else None
        refused = book is not None and book.refused is not None
        self.begin.setVisible(case is None and not refused)
        why = _why_no_case(book, session)
        enable(self.begin, not why, why)
        for part in (self.stage, self.taken, self.own, self.keep, self.canals, self.findings):
            part.setVisible(case is not None)
        self.words.setText(_status(book, case, session))
        if book is None or case is None:
            self._shown = None
            return
        path = session.radiograph.path if session is not None else None
        added = book.image_of(path)
        if self._shown != (path, added):
            self._shown = (path, added)
            self._fill(added)
        self._show_keep()
        self._show_canals(book, case, session)

    def _fill(self, added: ImageAdded | None) -> None:
        """Show what the case says of the image; what is typed stays until the image or the case changes."""
        asked = added is None or (added.stage == "other" and added.label in (NOT_STATED, FILE_DAY))
        with QSignalBlocker(self.stage), QSignalBlocker(self.taken), QSignalBlocker(self.own):
            self.stage.setCurrentText(NOT_STATED if added is None or asked else added.stage)
            self.own.setText("" if added is None or asked else added.label)
            self.taken.setText("" if added is None or added.label == FILE_DAY else added.taken.isoformat())

    def _show_keep(self) -> None:
        """Say whether there is something to keep, and why not."""
        book, session = self._dock.case_book, self._dock.session
        if book is None or book.case is None:
            return
        path = session.radiograph.path if session is not None else None
        why = FIRST if session is None else book.why_not(path)
        for part in (self.stage, self.taken, self.own):
            enable(part, not why, why)
        added, stated = book.image_of(path), self.stated
        self.keep.setText("Keep in the case" if added is not None else "Add to the case")
        anew = book.is_marked_anew(path)
        if anew:
            self.keep.setText("Keep with its marks")
        same = added is not None and not anew and stated == _said(added)
        dirty = session is not None and session.is_dirty
        why = why or (SAVE_FIRST if dirty else "") or _asked(stated) or (SAID if same else "")
        enable(self.keep, not why, why)

    def _show_canals(self, book: CaseBook, case: Case, session: Session | None) -> None:
        marked = () if session is None else session.annotation.canals
        missing = missing_words(case, (one.label for one in marked if one.path_px and one.tooth))
        if self._told is None or self._told[0] is not case:
            doubts = "".join(map(finding_line, book.findings)) + canal_doubts(case)
            self._told = case, canal_lines(case), doubts
        self.canals.setText(self._told[1] + (f"<p>{escape(missing)}</p>" if missing else ""))
        self.findings.setText(self._told[2])

    def showEvent(self, event: Any) -> None:
        """Look at the folder from time to time while the section is there."""
        self._timer.start()
        super().showEvent(event)

    def hideEvent(self, event: Any) -> None:
        """Look no more."""
        self._timer.stop()
        super().hideEvent(event)


def _line(name: str, words: str, example: str) -> Line:
    made = Line()
    made.setObjectName(name)
    made.setAccessibleName(words)
    made.setProperty("radlength_tip", words)
    made.setToolTip(words)
    made.setPlaceholderText(example)
    made.setMinimumWidth(40)
    return made


def _said(added: ImageAdded) -> Stated:
    return Stated(added.stage, added.label, added.taken.isoformat())


def _asked(stated: Stated) -> str:
    """Return what is still to be said of the image."""
    if not stated.stage:
        return "Choose what the image was taken for."
    if stated.stage == "other" and not stated.label:
        return "Type a label: 'other' alone says nothing."
    return "" if stated.taken else "Type the day it was taken: 2026-01-02."


def _why_no_case(book: CaseBook | None, session: Session | None) -> str:
    if session is None:
        return FIRST
    path = session.radiograph.path
    here = book is not None and path is not None and path.resolve().parent == book.home.resolve()
    return "" if here else "The images lie in several folders: open those of one folder."


def _status(book: CaseBook | None, case: Case | None, session: Session | None) -> str:
    if book is not None and book.refused is not None:
        return f"<b>The case cannot be read:</b> {escape(str(book.refused))}"
    if book is None or case is None:
        return FIRST if session is None else NO_CASE
    invented = ", invented" if case.invented else ""
    words = f"<b>{escape(book.home.resolve().name)}</b>{invented}: {escape(case.status)}"
    elsewhere = session is not None and not book.holds(session.radiograph.path)
    return f"{words}<br><b>{ELSEWHERE}</b>" if elsewhere else words
