"""Marking the reference instrument and stating its length."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from qtpy.QtCore import QSignalBlocker
from qtpy.QtWidgets import QComboBox, QFormLayout

from napari_radlength._placed import placed_words
from napari_radlength._widgets import FIRST, Section, button, choices, enable, label, row, set_items, spin
from radlength.session import ReferenceDraft, Session
from radlength.trade import SIZES as ISO_SIZES
from radlength.trade import TIP_FORMS
from radlength.trade.tip_shapes import TAPERS as ISO_TAPERS

PLACEMENTS = {"in_canal": "in a canal", "beside": "beside the tooth"}
HEADER = "none: the file's own scale"
UNKNOWN = "unknown"
SIZES = {str(size): float(size) for size in ISO_SIZES if 6 <= size <= 80}
TAPERS = {f".{round(100 * taper):02d}": taper for taper in ISO_TAPERS}


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
        self.instrument_size = choices("radlength_size", "size of the instrument", [UNKNOWN, *SIZES])
        self.taper = choices("radlength_taper", "taper of the instrument", [UNKNOWN, *TAPERS])
        self.tip = choices("radlength_tip", "form of its point", [UNKNOWN, *TIP_FORMS])
        self._arrange()
        self._connect_shape(dock)
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
        form.addRow("size", self.instrument_size)
        form.addRow("taper", self.taper)
        form.addRow("point", self.tip)
        form.addRow("measured by", self.chooser)
        form.addRow(row(self.back, self.own))

    def _connect_shape(self, dock: Any) -> None:
        """What is known of the instrument's shape tells how far its tip lies beyond the edge that is seen."""
        self.instrument_size.activated.connect(
            lambda _n: dock.edit_shape(size=_number(self.instrument_size, SIZES))
        )
        self.taper.activated.connect(lambda _n: dock.edit_shape(taper=_number(self.taper, TAPERS)))
        self.tip.activated.connect(lambda n: dock.edit_shape(tip_form=self.tip.currentText() if n else None))

    def show_session(self, session: Session | None) -> None:
        """Show the reference of the current canal."""
        for control in (self.mark, self.length, self.limit, self.placement, self.chooser, self.own):
            enable(control, session is not None, FIRST)
        enable(self.back, bool(session and session.annotation.reference.path_px), "Nothing is clicked yet.")
        if session is None:
            for box in (self.instrument_size, self.taper, self.tip):
                enable(box, False, FIRST)
            return
        marks = session.annotation
        reference = marks.reference
        self.clicks.setText(_words(session))
        with QSignalBlocker(self.length), QSignalBlocker(self.limit), QSignalBlocker(self.placement):
            self.length.setValue(reference.length_mm or 0.0)
            self.limit.setValue(reference.limit_mm)
            self.placement.setCurrentIndex(list(PLACEMENTS).index(reference.placement))
        self._show_shape(reference)
        names = [one.name for one in marks.references]
        current = names.index(marks.canal.reference) if marks.canal.reference in names else len(names)
        set_items(self.chooser, [*names, HEADER], current)

    def _show_shape(self, reference: ReferenceDraft) -> None:
        for box, known, value in (
            (self.instrument_size, SIZES, reference.size),
            (self.taper, TAPERS, reference.taper),
            (self.tip, {form: form for form in TIP_FORMS}, reference.tip_form),
        ):
            text = next((words for words, one in known.items() if one == value), None)
            entries = [UNKNOWN, *known] if text or value is None else [UNKNOWN, *known, f"{value:g}"]
            set_items(box, entries, 0 if value is None else entries.index(text or f"{value:g}"))
            enable(
                box, reference.placement == "in_canal", "Only an instrument in a canal has a tip to be found."
            )


def _number(box: QComboBox, known: Mapping[str, float]) -> float | None:
    return float(known.get(box.currentText(), box.currentText())) if box.currentIndex() else None


def _words(session: Session) -> str:
    marks = session.annotation
    reference = marks.reference
    said = placed_words(reference)
    if reference.canal not in (None, "", *marks.canal.names):
        return f"{said}. It lies in {reference.canal}: borrowed for {marks.canal.label}."
    return f"{said}. Stop first, tip last."
