"""Choosing, naming and marking canals, and stating where the work ends."""

from __future__ import annotations

from typing import Any

from qtpy.QtCore import QSignalBlocker
from qtpy.QtWidgets import QCheckBox, QFormLayout

from napari_radlength._fields import Line
from napari_radlength._palette import CANALS, COLOUR_NAMES
from napari_radlength._placed import placed_words
from napari_radlength._widgets import (
    FIRST,
    Section,
    Teeth,
    button,
    choices,
    enable,
    label,
    row,
    set_items,
    spin,
)
from radlength.clean import counted
from radlength.length import Terminus
from radlength.session import CanalDraft, Session
from radlength.trade import ISO_TEETH, terminus_table, terminus_tables

NONE_STATED = "none stated"
OWN_OFFSET = "own offset"
BY_PLACE = "by its place"
NO_TOOTH = "choose"


class CanalSection(Section):
    """The canals of the image."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Canals")
        self.chooser = choices("radlength_canal_chooser", "current canal")
        self.tooth = choices("radlength_tooth", "tooth, ISO 3950", [NO_TOOTH, *ISO_TEETH], Teeth)
        self.name = Line(leaves=True)
        self.name.setObjectName("radlength_canal_name")
        self.name.setAccessibleName("name of the canal")
        self.name.setMaximumWidth(120)
        self.mark = button("Mark the canal", "radlength_mark_canal", dock.mark_canal, action="mark_canal")
        self.clicks = label("radlength_canal_clicks")
        self.assist = QCheckBox("the program traces between clicks")
        self.assist.setObjectName("radlength_assist")
        self.accept = button(
            "Accept", "radlength_accept", dock.go_on, tip="keep what is proposed", action="go_on"
        )
        self.drop = button("Drop", "radlength_drop", dock.drop, tip="drop what is proposed", action="drop")
        self.back = button(
            "Back", "radlength_canal_back", dock.take_back_canal, tip="take the last click on the canal back"
        )
        self.add = button("Next canal", "radlength_add_canal", dock.next_canal, action="next_canal")
        self.remove = button(
            "Delete", "radlength_remove_canal", dock.remove_canal, tip="delete the canal; undo brings it back"
        )
        self.hidden = QCheckBox("hide it")
        self.hidden.setObjectName("radlength_hide_canal")
        self.colour = choices("radlength_colour", "colour of the canal", [BY_PLACE, *COLOUR_NAMES])
        self.rule = choices(
            "radlength_terminus", "where the work ends", [NONE_STATED, OWN_OFFSET, *_table_choices()]
        )
        self.offset = spin("radlength_offset", "offset from the radiographic apex", 0.0, 5.0, 0.5)
        self.offset.setValue(1.0)
        self._arrange()
        self._connect(dock)

    def _arrange(self) -> None:
        form = QFormLayout(self)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.addRow(self.chooser)
        form.addRow("tooth", row(self.tooth, self.name))
        form.addRow(self.mark)
        form.addRow(self.clicks)
        form.addRow(self.assist)
        form.addRow(row(self.accept, self.drop, self.back))
        form.addRow("work ends", self.rule)
        form.addRow("offset", self.offset)
        form.addRow(row(self.add, self.remove))
        form.addRow(row(self.colour, self.hidden))

    def _connect(self, dock: Any) -> None:
        self.chooser.activated.connect(dock.select)
        self.tooth.activated.connect(lambda _index: dock.set_tooth(self._tooth()))
        self.name.editingFinished.connect(lambda: dock.set_name(self.name.text().strip()))
        self.assist.toggled.connect(dock.set_assist)
        self.hidden.toggled.connect(lambda on: dock.edit_canal(hidden=on))
        self.colour.activated.connect(
            lambda index: dock.edit_canal(colour=CANALS[index - 1] if index else "")
        )
        self.rule.activated.connect(lambda _index: dock.edit_canal(terminus=self._terminus()))
        self.offset.valueChanged.connect(lambda _value: dock.edit_canal(terminus=self._terminus()))

    def _tooth(self) -> str:
        return self.tooth.currentText() if self.tooth.currentIndex() else ""

    def _terminus(self) -> Terminus | None:
        choice = self.rule.currentText()
        if choice == NONE_STATED:
            return None
        if choice == OWN_OFFSET:
            return Terminus(offset_mm=self.offset.value())
        table, observation = _table_choices()[choice]
        return Terminus(table=table, observation=observation)

    def show_session(self, session: Session | None, *, assist: bool) -> None:
        """Show the current canal."""
        controls = (self.chooser, self.tooth, self.name, self.mark, self.add, self.remove, self.rule)
        for control in (*controls, self.assist, self.hidden, self.colour):
            enable(control, session is not None, FIRST)
        proposed = session is not None and session.proposal is not None
        for control in (self.accept, self.drop):
            enable(control, proposed, "Nothing is proposed: click along the canal first.")
        enable(self.back, bool(session and session.annotation.canal.path_px), "Nothing is clicked yet.")
        with QSignalBlocker(self.assist):
            self.assist.setChecked(assist)
        if session is None:
            enable(self.offset, False, FIRST)
            return
        marks, canal = session.annotation, session.annotation.canal
        self.clicks.setText(_words(canal))
        set_items(self.chooser, [_entry(one) for one in marks.canals], marks.current)
        with QSignalBlocker(self.name), QSignalBlocker(self.hidden):
            self.tooth.setCurrentText(canal.tooth or NO_TOOTH)
            if not self.name.hasFocus():
                self.name.setText(canal.name)
            self.hidden.setChecked(canal.hidden)
        self.colour.setCurrentIndex(CANALS.index(canal.colour) + 1 if canal.colour in CANALS else 0)
        self._show_terminus(canal)

    def _show_terminus(self, canal: CanalDraft) -> None:
        with QSignalBlocker(self.offset):
            terminus = canal.terminus
            if terminus is None:
                self.rule.setCurrentText(NONE_STATED)
            elif terminus.table is None:
                self.rule.setCurrentText(OWN_OFFSET)
                self.offset.setValue(terminus.distance_mm)
            else:
                self.rule.setCurrentText(_choice(terminus.table, str(terminus.observation)))
        own = self.rule.currentText() == OWN_OFFSET
        enable(self.offset, own, f"Choose '{OWN_OFFSET}' to state it.")


def _entry(canal: CanalDraft) -> str:
    return f"{canal.label} ({counted(len(canal.path_px), 'point')}{', hidden' if canal.hidden else ''})"


def _words(canal: CanalDraft) -> str:
    said = placed_words(canal)
    return f"{said}." if canal.assists else f"{said}. Reference point first, radiographic apex last."


def _choice(table: str, observation: str) -> str:
    return f"{table}: {observation}"


def _table_choices() -> dict[str, tuple[str, str]]:
    return {
        _choice(table, observation): (table, observation)
        for table in terminus_tables()
        for observation in terminus_table(table).observations
    }
