"""Confirming a length on the image that is shown: what the stop was set to, the rule, and the marks that are there."""

from __future__ import annotations

from html import escape
from typing import Any

from qtpy.QtCore import QSignalBlocker, Qt
from qtpy.QtWidgets import QCheckBox, QFormLayout

from napari_radlength._form import FormSection
from napari_radlength._keys import key_of
from napari_radlength._notify import told
from napari_radlength._section_record import OTHER
from napari_radlength._section_result import finding_line
from napari_radlength._widgets import FIRST, button, choices, enable, label, spin
from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.session import Session
from radlength.session.confirming import gap_marked, instrument_in_canal
from radlength.trade import repeat_rule, repeat_rules

CHOOSE_RULE = "choose a rule"
NO_LENGTH = "Type the length that the stop of the instrument was set to."
NO_RULE = "Choose the rule that accepts the length: none is taken unasked."
KEPT = "This reading is in the record. Other marks, numbers or another rule give a new one."
FOLLOWED = (
    "The set length followed the instrument, whose length was typed just now: look at it, then confirm."
)
BEYOND = "the tip lies beyond the radiographic apex: the gap counts as negative"
WHAT = (
    "read this image as a length-confirmation image: from the tip of the instrument in this canal to its apex. "
    "The marks are saved first. The history keeps it: undo does not take it back"
)
LIMIT_MM = 0.25


class ConfirmSection(FormSection):
    """A length-confirmation image of the current canal; what it said stands under Result.

    Parameters
    ----------
    dock
        It knows the session, and what is typed elsewhere and not entered.
    """

    def __init__(self, dock: Any) -> None:
        super().__init__("Confirm a length")
        self._dock = dock
        self._of: object = None
        self._offered = (0.0, LIMIT_MM)
        self._kept: object = None
        self._doubts: tuple[Finding, ...] = ()
        self.length = spin("radlength_set_length", "length the stop was set to", 0.0, 60.0, 0.5)
        self.length.setSpecialValueText("not stated")
        self.limit = spin("radlength_set_limit", "the set length is known to plus or minus", 0.0, 5.0, 0.05)
        self.rule = choices("radlength_repeat_rule", "rule that accepts the length", [CHOOSE_RULE])
        for name in repeat_rules():
            self.rule.addItem(name)
            self.rule.setItemData(self.rule.count() - 1, _source(name), Qt.ItemDataRole.ToolTipRole)
        self.beyond = QCheckBox("tip beyond the apex")
        self.beyond.setObjectName("radlength_beyond")
        self.beyond.setProperty("radlength_tip", BEYOND)
        self.confirm = button("Confirm", "radlength_confirm_length", self.make, tip=WHAT)
        self.words = label("radlength_confirm_words")
        self.findings = label("radlength_confirm_findings")
        self._arrange()

    def _arrange(self) -> None:
        form = QFormLayout(self)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.addRow("set length", self.length)
        form.addRow("known to ±", self.limit)
        form.addRow("rule", self.rule)
        form.addRow(self.beyond)
        form.addRow(self.confirm)
        form.addRow(self.words)
        form.addRow(self.findings)
        for changed in (self.length.valueChanged, self.limit.valueChanged, self.rule.currentIndexChanged):
            changed.connect(lambda _value: self._show())
        self.beyond.toggled.connect(lambda _on: self._show())

    @property
    def asked(self) -> tuple[float, float, str, bool]:
        """What a person has said: set length and its limit in millimetres, rule, tip beyond the apex."""
        rule = self.rule.currentText() if self.rule.currentIndex() > 0 else ""
        return self.length.value(), self.limit.value(), rule, self.beyond.isChecked()

    def show_dock(self, dock: Any) -> None:
        """Offer the length of the instrument that is marked, and say what is missing."""
        session: Session | None = dock.session
        if session is not None:
            self._offer(session)
        self._show()

    def _offer(self, session: Session) -> None:
        """Offer the length of the instrument in the canal; a length that was typed stays until the canal is another."""
        instrument = instrument_in_canal(session.annotation)
        of = (session.radiograph.pixel_sha256, session.annotation.canal.key)
        offered = (0.0, LIMIT_MM)
        if instrument is not None:
            offered = (round(instrument.length_mm or 0.0, 2), instrument.limit_mm)
        followed = offered != self._offered and self.length.value() == self._offered[0]
        controls = [QSignalBlocker(one) for one in (self.length, self.limit, self.beyond)]
        if of != self._of or followed:
            self.length.setValue(offered[0])
            self.limit.setValue(offered[1])
        if of != self._of:
            self.beyond.setChecked(False)
        self._of, self._offered = of, offered
        del controls

    def _show(self) -> None:
        session = self._dock.session
        for control in (self.length, self.limit, self.rule, self.beyond):
            enable(control, session is not None, FIRST)
        if session is not None and self.rule.currentIndex() > 0:
            self.rule.setToolTip(_source(self.rule.currentText()))
        why = self._why_not(session)
        enable(self.confirm, not why, why)
        self.words.setText(escape(why))
        self.words.setVisible(bool(why))
        doubts = self._doubts if session is not None and self._is_kept(session) else ()
        self.findings.setText("".join(map(finding_line, doubts)))
        self.findings.setVisible(bool(doubts))

    def _is_kept(self, session: Session) -> bool:
        """Return whether what is asked was answered last, on the marks that are shown."""
        shown = session.confirmation()
        return shown is not None and shown.holds and (self.asked, shown.stored) == self._kept

    def _why_not(self, session: Session | None) -> str:
        """Return what is missing first."""
        if session is None:
            return FIRST
        if session.other_marks is not None:
            return f"No confirmation: {OTHER}."
        if session.proposal is not None:
            return f"Accept what is proposed ({key_of('go_on')}) or drop it ({key_of('drop')}) first."
        _, missing = gap_marked(session.annotation)
        found, unmeasured = session.estimate()
        set_mm, _, rule, _ = self.asked
        reasons = {
            "The image is not a file: no record of it can be kept.": session.radiograph.path is None,
            missing: bool(missing),
            unmeasured: found is None,
            NO_LENGTH: not set_mm,
            NO_RULE: not rule,
            KEPT: self._is_kept(session),
        }
        return next((words for words, is_missing in reasons.items() if is_missing), "")

    def make(self) -> None:
        """Confirm the length by the marks that are there, and keep it in the record."""
        for field in (self.length, self.limit):
            field.interpretText()
        seen, session = self.asked, self._dock.session
        self._dock.take_typed()
        if self.asked != seen:
            self.words.setText(FOLLOWED)
            self.words.show()
            return
        if session is None or self._why_not(session):
            return
        set_mm, limit_mm, rule, beyond = seen
        with told():
            try:
                done = session.confirm_length(set_mm, rule=rule, beyond=beyond, set_limit_mm=limit_mm)
            except RecordError as exc:
                self._dock.recovery.show_changed(exc)
                raise
            shown = session.confirmation()
            self._kept = seen, None if shown is None else shown.stored
            self._doubts = done.findings
            said = f"{session.annotation.canal.label}: by its rule {done.verdict}"
            self._dock.viewer.status = f"{said}; kept in the record"
        self._show()


def _source(name: str) -> str:
    """Return what a rule accepts and who published it."""
    rule = repeat_rule(name)
    low, high = rule.accept_mm
    status = "" if rule.status in rule.source else f" ({rule.status})"
    return (
        f"{name}: accepts a gap of {low:g} to {high:g} mm; over {rule.repeat_over_mm:g} mm or beyond the apex the "
        f"image is taken again. Source: {rule.source}{status}"
    )
