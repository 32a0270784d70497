"""Marking the reference instrument and stating its length."""

from __future__ import annotations

from typing import Any

from qtpy.QtCore import QSignalBlocker
from qtpy.QtWidgets import QFormLayout

from napari_radlength._widgets import FIRST, Section, button, choices, enable, label, row, set_items, spin
from radlength.session import Session

PLACEMENTS = {"in_canal": "in a canal", "beside": "beside the tooth"}
HEADER = "none: the file's own scale"


class ReferenceSection(Section):
    """The reference of the current canal."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Reference instrument")
        self.chooser = choices("radlength_reference_chooser", "reference of this canal")
        self.mark = button(
            "Mark the reference", "radlength_mark_reference", dock.mark_reference, action="mark_reference"
        )
        self.clicks = label("radlength_reference_clicks")
        self.length = spin("radlength_reference_length", "real length of the reference", 0.0, 60.0, 0.5)
        self.length.setSpecialValueText("not stated")
        self.limit = spin("radlength_reference_limit", "known to plus or minus", 0.0, 5.0, 0.05)
        self.placement = choices("radlength_placement", "where the reference lies", list(PLACEMENTS.values()))
        self.own = button(
            "Another one",
            "radlength_own_reference",
            dock.add_reference,
            tip="a reference of its own for this canal",
        )
        self.back = button(
            "Back",
            "radlength_reference_back",
            dock.take_back_reference,
            tip="take the last click on the reference back",
        )
        self._arrange()
        self.chooser.activated.connect(lambda _index: dock.choose_reference(self.chooser.currentText()))
        self.length.valueChanged.connect(lambda value: dock.edit_reference(length_mm=value or None))
        self.length.lineEdit().returnPressed.connect(dock.length_typed)
        self.limit.valueChanged.connect(lambda value: dock.edit_reference(limit_mm=value))
        self.placement.currentIndexChanged.connect(
            lambda index: dock.edit_reference(placement=list(PLACEMENTS)[index])
        )

    def _arrange(self) -> None:
        form = QFormLayout(self)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.addRow(self.mark)
        form.addRow(self.clicks)
        form.addRow("real length", self.length)
        form.addRow("known to ±", self.limit)
        form.addRow("it lies", self.placement)
        form.addRow("measured by", self.chooser)
        form.addRow(row(self.back, self.own))

    def show_session(self, session: Session | None) -> None:
        """Show the reference of the current canal."""
        for control in (self.mark, self.length, self.limit, self.placement, self.chooser, self.own):
            enable(control, session is not None, FIRST)
        enable(self.back, bool(session and session.annotation.reference.path_px), "Nothing is clicked yet.")
        if session is None:
            return
        marks = session.annotation
        reference = marks.reference
        self.clicks.setText(_words(session))
        with QSignalBlocker(self.length), QSignalBlocker(self.limit), QSignalBlocker(self.placement):
            self.length.setValue(reference.length_mm or 0.0)
            self.limit.setValue(reference.limit_mm)
            self.placement.setCurrentIndex(list(PLACEMENTS).index(reference.placement))
        names = [one.name for one in marks.references]
        current = names.index(marks.canal.reference) if marks.canal.reference in names else len(names)
        set_items(self.chooser, [*names, HEADER], current)


def _words(session: Session) -> str:
    marks = session.annotation
    reference = marks.reference
    program = sum(one.count for one in reference.assists)
    said = f"{len(reference.path_px)} points"
    if program:
        said += f", {program} of them by the program"
    if reference.canal and reference.canal != marks.canal.name:
        return f"{said}. It lies in {reference.canal}: borrowed for {marks.canal.label}."
    return f"{said}. Stop first, tip last."
