"""The sections of the dock. Each shows a session and calls back with what the user wants; none touches a layer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from qtpy.QtCore import QSignalBlocker, Qt
from qtpy.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from napari_radlength._keys import help_text
from radlength.finding import Finding
from radlength.length import Estimate, Terminus
from radlength.session import CanalDraft, Session
from radlength.trade import CAUTION, ISO_TEETH, terminus_table, terminus_tables

NONE_STATED = "none stated"
OWN_OFFSET = "own offset"
PLACEMENTS = {"in_canal": "in this canal", "beside": "beside the tooth"}
FIRST = "Open a radiograph: drop a file on the window."
CAUTION_STYLE = "color: #e69f00;"


class Panel(QGroupBox):
    """A titled section."""

    def __init__(self, title: str) -> None:
        super().__init__(title)
        self.setObjectName(f"radlength_{title.split(maxsplit=1)[0].lower()}")
        self.setAccessibleName(title)


class ResultPanel(Panel):
    """Length of the current canal, findings, caution."""

    def __init__(self) -> None:
        super().__init__("Result")
        self.what = _label("radlength_what", bold=True)
        self.length = _label("radlength_length", bold=True)
        self.length.setStyleSheet("font-size: 15pt; font-weight: bold;")
        self.terms = _label("radlength_terms")
        self.other = _label("radlength_other")
        self.findings = _label("radlength_findings")
        self.status = _label("radlength_status", bold=True)
        self.status.setStyleSheet(CAUTION_STYLE + "font-weight: bold;")
        self.caution = _label("radlength_caution")
        self.caution.setText(CAUTION)
        self.caution.setStyleSheet(CAUTION_STYLE)
        column = QVBoxLayout(self)
        for label in (
            self.what,
            self.length,
            self.terms,
            self.other,
            self.status,
            self.caution,
            self.findings,
        ):
            column.addWidget(label)

    def show_session(self, session: Session | None) -> None:
        """Show the estimate of the current canal, or what to do first."""
        found, missing = session.estimate() if session is not None else (None, FIRST)
        self.status.setText(session.status if session is not None else "")
        if found is None:
            self.what.setText("")
            self.length.setText("no length yet")
            self.terms.setText(missing)
            self.other.setText("")
            self.findings.setText("")
            return
        self.what.setText(_what(found))
        self.length.setText(str(found.working_length or found.canal_length))
        self.terms.setText(_terms(found))
        self.other.setText(_other(found))
        self.findings.setText("".join(map(_finding, found.findings)))


class ReferencePanel(Panel):
    """Marking the reference instrument and stating its length."""

    def __init__(self, mark: Callable[[], None], edit: Callable[..., None]) -> None:
        super().__init__("Reference instrument")
        self.mark = _button("Mark the reference", "radlength_mark_reference", mark)
        self.clicks = _label("radlength_reference_clicks")
        self.length = _spin("radlength_reference_length", 0.0, 60.0, 0.5)
        self.length.setSpecialValueText("not stated")
        self.limit = _spin("radlength_reference_limit", 0.0, 5.0, 0.05)
        self.placement = _choices()
        self.placement.setObjectName("radlength_placement")
        self.placement.addItems(list(PLACEMENTS.values()))
        form = QFormLayout(self)
        form.addRow(self.mark)
        form.addRow(self.clicks)
        form.addRow("length", self.length)
        form.addRow("known to ±", self.limit)
        form.addRow("lies", self.placement)
        self.length.valueChanged.connect(lambda value: edit(length_mm=value or None))
        self.limit.valueChanged.connect(lambda value: edit(limit_mm=value))
        self.placement.currentIndexChanged.connect(lambda index: edit(placement=list(PLACEMENTS)[index]))

    def show_session(self, session: Session | None) -> None:
        """Show the reference of the current canal."""
        _enable(self, session is not None, (self.mark, self.length, self.limit, self.placement))
        if session is None:
            return
        reference = session.annotation.reference
        self.clicks.setText(f"{len(reference.path_px)} points; stop first, tip last")
        with QSignalBlocker(self.length), QSignalBlocker(self.limit), QSignalBlocker(self.placement):
            self.length.setValue(reference.length_mm or 0.0)
            self.limit.setValue(reference.limit_mm)
            self.placement.setCurrentIndex(list(PLACEMENTS).index(reference.placement))


class CanalPanel(Panel):
    """Choosing, naming and marking canals, and stating where the work ends."""

    def __init__(
        self,
        mark: Callable[[], None],
        edit: Callable[..., None],
        add: Callable[[str, str], None],
        remove: Callable[[], None],
        select: Callable[[int], None],
    ) -> None:
        super().__init__("Canals")
        self.chooser = _choices()
        self.chooser.setObjectName("radlength_canal_chooser")
        self.tooth = _choices()
        self.tooth.setObjectName("radlength_tooth")
        self.tooth.addItems(list(ISO_TEETH))
        self.name = QLineEdit()
        self.name.setObjectName("radlength_canal_name")
        self.mark = _button("Mark the canal", "radlength_mark_canal", mark)
        self.clicks = _label("radlength_canal_clicks")
        self.add = _button(
            "Add a canal", "radlength_add_canal", lambda: add(self.tooth.currentText(), _free(self))
        )
        self.remove = _button("Remove it", "radlength_remove_canal", remove)
        self.rule = _choices()
        self.rule.setObjectName("radlength_terminus")
        self.rule.addItems([NONE_STATED, OWN_OFFSET, *_table_choices()])
        self.offset = _spin("radlength_offset", 0.0, 5.0, 0.5)
        self.offset.setValue(1.0)
        self._arrange()
        self.chooser.activated.connect(select)
        self.tooth.activated.connect(lambda _index: edit(tooth=self.tooth.currentText()))
        self.name.editingFinished.connect(lambda: edit(name=self.name.text().strip() or "single"))
        self.rule.activated.connect(lambda _index: edit(terminus=self._terminus()))
        self.offset.valueChanged.connect(lambda _value: edit(terminus=self._terminus()))

    def _arrange(self) -> None:
        row = QHBoxLayout()
        row.addWidget(self.add)
        row.addWidget(self.remove)
        form = QFormLayout(self)
        form.addRow(self.chooser)
        form.addRow("tooth (ISO 3950)", self.tooth)
        form.addRow("canal", self.name)
        form.addRow(self.mark)
        form.addRow(self.clicks)
        form.addRow("work ends", self.rule)
        form.addRow("offset", self.offset)
        form.addRow(row)

    def _terminus(self) -> Terminus | None:
        choice = self.rule.currentText()
        if choice == NONE_STATED:
            return None
        if choice == OWN_OFFSET:
            return Terminus(offset_mm=self.offset.value())
        table, observation = _table_choices()[choice]
        return Terminus(table=table, observation=observation)

    def show_session(self, session: Session | None) -> None:
        """Show the current canal."""
        controls = (self.chooser, self.tooth, self.name, self.mark, self.add, self.remove, self.rule)
        _enable(self, session is not None, controls)
        self.offset.setEnabled(session is not None and self.rule.currentText() == OWN_OFFSET)
        if session is None:
            return
        marks = session.annotation
        canal = marks.canal
        self.clicks.setText(f"{len(canal.path_px)} points; reference point first, apex last")
        with QSignalBlocker(self.chooser), QSignalBlocker(self.tooth), QSignalBlocker(self.name):
            self.chooser.clear()
            self.chooser.addItems([f"{c.tooth} {c.name} ({len(c.path_px)} points)" for c in marks.canals])
            self.chooser.setCurrentIndex(marks.current)
            self.tooth.setCurrentText(canal.tooth)
            if not self.name.hasFocus():
                self.name.setText(canal.name)
        self._show_terminus(canal)

    def _show_terminus(self, canal: CanalDraft) -> None:
        with QSignalBlocker(self.rule), QSignalBlocker(self.offset):
            terminus = canal.terminus
            if terminus is None:
                self.rule.setCurrentText(NONE_STATED)
            elif terminus.table is None:
                self.rule.setCurrentText(OWN_OFFSET)
                self.offset.setValue(terminus.distance_mm)
            else:
                self.rule.setCurrentText(_choice(terminus.table, str(terminus.observation)))
        self.offset.setEnabled(self.rule.currentText() == OWN_OFFSET)
        self.offset.setToolTip("" if self.offset.isEnabled() else f"Choose '{OWN_OFFSET}' to state it.")


class RecordPanel(Panel):
    """Undo, redo, save."""

    def __init__(self, save: Callable[[], None], undo: Callable[[], None], redo: Callable[[], None]) -> None:
        super().__init__("Record")
        self.undo = _button("Undo", "radlength_undo", undo)
        self.redo = _button("Redo", "radlength_redo", redo)
        self.save = _button("Save the record", "radlength_save", save)
        self.words = _label("radlength_record_words")
        self.setToolTip(help_text())
        row = QHBoxLayout()
        row.addWidget(self.undo)
        row.addWidget(self.redo)
        column = QVBoxLayout(self)
        column.addLayout(row)
        column.addWidget(self.save)
        column.addWidget(self.words)

    def show_session(self, session: Session | None) -> None:
        """Show what can be undone and saved, and why not."""
        states = (
            (self.undo, session is not None and session.can_undo, "Nothing to undo."),
            (self.redo, session is not None and session.can_redo, "Nothing to redo."),
            (
                self.save,
                session is not None and session.radiograph.path is not None,
                "The image is not a file.",
            ),
        )
        for button, possible, why_not in states:
            button.setEnabled(possible)
            button.setToolTip("" if possible else why_not)
        if session is None:
            self.words.setText("")
        else:
            self.words.setText("unsaved marks" if session.is_dirty else "all marks are in the record")


def _what(found: Estimate) -> str:
    kind = "canal length" if found.working_length is None else "working length"
    return f"{kind}, {found.canal.label}"


def _terms(found: Estimate) -> str:
    if found.working_length is not None and found.terminus is not None:
        return f"95 % interval in brackets; {found.terminus.words}"
    return (
        "95 % interval in brackets; to the radiographic apex. No working length: state where the work ends."
    )


def _other(found: Estimate) -> str:
    parts = []
    if found.working_length is not None:
        parts.append(f"canal length {found.canal_length}")
    parts.append(f"straight {found.straight_length.value_mm:.1f} mm")
    if found.gap_mm is not None:
        parts.append(f"gap {found.gap_mm:.1f} mm")
    if found.magnification is not None:
        parts.append(f"magnification {found.magnification.value:.2f}")
    return "; ".join(parts)


def _finding(finding: Finding) -> str:
    signs = {"serious": "‼", "question": "?", "note": "i"}
    return f"<p><b>{signs[finding.severity]}</b> {finding.sentence} <i>{finding.remedy}</i></p>"


def _choice(table: str, observation: str) -> str:
    return f"{table}: {observation}"


def _table_choices() -> dict[str, tuple[str, str]]:
    return {
        _choice(table, observation): (table, observation)
        for table in terminus_tables()
        for observation in terminus_table(table).observations
    }


def _free(panel: CanalPanel) -> str:
    """Return a name no canal of the tooth has yet: the usual ones first."""
    from radlength.trade import usual_canals

    tooth = panel.tooth.currentText()
    taken = {panel.chooser.itemText(n).rsplit(" (", 1)[0] for n in range(panel.chooser.count())}
    usual = [name for name in usual_canals(tooth) if f"{tooth} {name}" not in taken]
    return usual[0] if usual else f"canal {panel.chooser.count() + 1}"


def _label(name: str, *, bold: bool = False) -> QLabel:
    label = QLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if bold:
        label.setStyleSheet("font-weight: bold;")
    return label


def _button(text: str, name: str, do: Callable[[], None]) -> QPushButton:
    button = QPushButton(text)
    button.setObjectName(name)
    button.setAccessibleName(text)
    button.clicked.connect(lambda _checked=False: do())
    return button


def _choices() -> QComboBox:
    """Return a list that may be narrower than its longest choice, so that the dock stays narrow."""
    box = QComboBox()
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(8)
    return box


def _spin(name: str, low: float, high: float, step: float) -> QDoubleSpinBox:
    spin = QDoubleSpinBox()
    spin.setObjectName(name)
    spin.setRange(low, high)
    spin.setSingleStep(step)
    spin.setDecimals(2)
    spin.setSuffix(" mm")
    spin.setKeyboardTracking(False)
    return spin


def _enable(panel: QWidget, possible: bool, controls: tuple[Any, ...]) -> None:
    for control in controls:
        control.setEnabled(possible)
        control.setToolTip("" if possible else FIRST)
    panel.setToolTip("" if possible else FIRST)
