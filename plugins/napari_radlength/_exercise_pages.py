"""The pages of the exercise section: closed, at the door, an exercise in hand, one that waits, and the end."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QSignalBlocker, Qt
from qtpy.QtWidgets import (
    QButtonGroup,
    QLineEdit,
    QListWidget,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from napari_radlength._widgets import button, enable, label, row
from radlength.clean import counted

if TYPE_CHECKING:
    from napari_radlength._exercise_desk import Desk
    from radlength.exercise.ending import Ending, Told

LIST_HIGH = 150
ARROWS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Left: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_Right: 1}
RULES = (
    "Marked by hand: nothing is traced, no length is shown, and what is handed in is final. Seconds and edits are "
    "counted; your code stands for you, never your name."
)
CHOICE_WORDS = {
    "accept": "accept the length",
    "adjust": "adjust the stop",
    "repeat": "adjust and repeat the image",
    "enough": "this image is enough",
    "shift": "another one, tube swung horizontally",
    "vertical": "another one, other vertical angle",
    "exposure": "the same view, exposed better",
}


class Page(QWidget):
    """One page, its parts below each other."""

    def __init__(self) -> None:
        super().__init__()
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)


class Choice(QRadioButton):
    """One choice of several: an arrow always chooses the next one, and Ctrl+Enter is not pressing it.

    Qt's own only goes to the next one as long as none is chosen.
    """

    def keyPressEvent(self, event: Any) -> None:
        """Choose by an arrow, and leave Ctrl+Enter to the window."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            event.ignore()
            return
        if event.key() not in ARROWS:
            super().keyPressEvent(event)
            return
        all_ = self.group().buttons()
        following = all_[(all_.index(self) + ARROWS[event.key()]) % len(all_)]
        following.setFocus()
        following.click()


class ClosedPage(Page):
    """One quiet button."""

    def __init__(self, section: Any) -> None:
        super().__init__()
        self.open = button(
            "Take an exercise …",
            "radlength_take_exercise",
            section.ask_for_set,
            tip="exercises with known answers: the file set.json of their folder",
        )
        self.open.setFlat(True)
        self.column.addWidget(self.open)


class BeginPage(Page):
    """The title of a set and the learner's code."""

    def __init__(self, section: Any) -> None:
        super().__init__()
        self.title = label("radlength_exercise_title")
        self.code = QLineEdit()
        self.code.setObjectName("radlength_exercise_code")
        self.code.setAccessibleName("your code, never your name")
        self.code.setPlaceholderText("your code, for example A07")
        self.start = button("Begin or go on", "radlength_exercise_start", section.start)
        self.leave = button("Leave", "radlength_exercise_leave", section.close_set)
        self.column.addWidget(self.title)
        self.column.addWidget(self.code)
        self.column.addLayout(row(self.start, self.leave))
        self.code.returnPressed.connect(section.start)

    def show_set(self, desk: Desk) -> None:
        """Show what a set is."""
        from radlength.exercise.models import CODE_WORDS

        self.code.setToolTip(CODE_WORDS)
        made = desk.exercises
        invented = " Images are simulated." if made.invented else ""
        many = counted(desk.count, "exercise")
        self.title.setText(
            f"<b>{escape(made.title)}</b><br>{many}, {escape(made.kind)}.{invented}<br>{RULES}"
        )


class TaskPage(Page):
    """The exercise in hand."""

    def __init__(self, section: Any, dock: Any) -> None:
        super().__init__()
        self._section = section
        self.progress = label("radlength_exercise_progress", bold=True)
        self.question = label("radlength_exercise_question")
        self.reference = button(
            "Mark the instrument", "radlength_exercise_reference", dock.mark_reference, tip="clicks mark it"
        )
        self.canal = button(
            "Mark the canal", "radlength_exercise_canal", dock.mark_canal, tip="clicks mark it, the apex last"
        )
        self.choices = QWidget()
        self._list = QVBoxLayout(self.choices)
        self._list.setContentsMargins(0, 0, 0, 0)
        self.group = QButtonGroup(self.choices)
        self.marks = label("radlength_exercise_marks")
        self.back = button("Back", "radlength_exercise_back", dock.take_back, tip="take the last click back")
        self.undo = button("Undo", "radlength_exercise_undo", dock.undo, tip="take the last step back")
        self.redo = button("Redo", "radlength_exercise_redo", dock.redo, tip="do it again")
        self.hand_in = button(
            "Hand in and go on",
            "radlength_exercise_hand_in",
            section.hand_in,
            tip="it can be given once",
            action="hand_in",
        )
        self.stop = button(
            "Stop for now",
            "radlength_exercise_stop",
            section.close_set,
            tip="what is handed in is kept; this exercise begins anew next time",
        )
        for part in (self.progress, self.question, self.choices):
            self.column.addWidget(part)
        self.column.addLayout(row(self.reference, self.canal))
        self.column.addWidget(self.marks)
        self.column.addLayout(row(self.back, self.undo, self.redo))
        self.column.addLayout(row(self.hand_in, self.stop))

    def show_task(self, desk: Desk) -> None:
        """Show a question and what answers it."""
        task, marker = desk.task, desk.marker
        if task is None or marker is None:
            return
        unsaved = "" if desk.saved else " What was handed in is not on the disk yet."
        which = f"Exercise {desk.handed_in + 1} of {desk.count}, difficulty {task.difficulty} of 6."
        self.progress.setText(which + unsaved)
        self.question.setText(escape(f"Tooth {task.tooth}, canal {task.canal}. {task.text}"))
        self.reference.setVisible("reference" in marker.roles and len(marker.roles) > 1)
        self.canal.setVisible("canal" in marker.roles and len(marker.roles) > 1)
        for part in (self.marks, self.back, self.undo, self.redo):
            part.setVisible(bool(marker.roles))
        self._show_choices(task.choices, desk.choice)
        self.show_marks(desk)

    def _show_choices(self, choices: tuple[str, ...], chosen: str | None) -> None:
        for old in self.group.buttons():
            self.group.removeButton(old)
            self._list.removeWidget(old)
            old.hide()
            old.deleteLater()
        for choice in choices:
            made = Choice(CHOICE_WORDS.get(choice, choice))
            made.setObjectName(f"radlength_choice_{choice}")
            made.setChecked(choice == chosen)
            made.clicked.connect(lambda _on=False, choice=choice: self._section.choose(choice))
            self.group.addButton(made)
            self._list.addWidget(made)
        self.choices.setVisible(bool(choices))

    def focus_choices(self) -> None:
        """Give the keys to the choices, where nothing is marked: the arrows choose."""
        for made in self.group.buttons()[:1]:
            made.setFocus()

    def show_marks(self, desk: Desk) -> None:
        """Show what is marked, and what can be taken back."""
        session, marker = desk.session, desk.marker
        if session is None or marker is None:
            return
        self.marks.setText(marker.told())
        enable(self.back, any(marker.handles(role) for role in marker.roles), "Nothing is clicked yet.")
        enable(self.undo, session.can_undo, "Nothing to undo.")
        enable(self.redo, session.can_redo, "Nothing to redo.")


class WaitPage(Page):
    """An exercise that waits while another image is shown."""

    def __init__(self, section: Any) -> None:
        super().__init__()
        self.words = label("radlength_exercise_waits", bold=True)
        self.back = button("Back to it", "radlength_exercise_resume", section.back)
        self.stop = button("Stop for now", "radlength_exercise_wait_stop", section.close_set)
        self.column.addWidget(self.words)
        self.column.addLayout(row(self.back, self.stop))

    def show_waiting(self, desk: Desk) -> None:
        """Show which exercise waits."""
        self.words.setText(f"Exercise {desk.handed_in + 1} of {desk.count} waits; its clock runs on.")


class EndPage(Page):
    """Everything is handed in: where it is, and what is told of it."""

    def __init__(self, section: Any) -> None:
        super().__init__()
        self.words = label("radlength_exercise_end")
        self.list = QListWidget()
        self.list.setObjectName("radlength_exercise_list")
        self.list.setAccessibleName("exercises, one to look at")
        self.list.setMaximumHeight(LIST_HIGH)
        self.one = label("radlength_exercise_told")
        self.leave = button("Leave", "radlength_exercise_done", section.close_set)
        for part in (self.words, self.list, self.one, self.leave):
            self.column.addWidget(part)
        self.list.currentRowChanged.connect(section.show_told)

    def show_end(self, desk: Desk, ending: Ending | None, why: str) -> None:
        """Show the end.

        Parameters
        ----------
        desk
            What was taken.
        ending
            What is told of it.
        why
            Why nothing is told; empty where something is.
        """
        kept = (
            f"Everything is handed in ({counted(desk.count, 'exercise')}): {escape(str(desk.attempt_path))}"
        )
        lines = [
            f"<b>{kept}</b>" if desk.saved else "<b>Handed in, but not on the disk: Leave tries again.</b>"
        ]
        lines += [escape(line) for line in ending.lines] if ending is not None else [escape(why)]
        self.words.setText("<br>".join(lines))
        self.one.setText("")
        self.list.setVisible(ending is not None)
        with QSignalBlocker(self.list):
            self.list.clear()
            self.list.addItems([f"{one.task}  {one.heading}" for one in ending.exercises] if ending else [])
        if ending is not None:
            self.list.setCurrentRow(0)

    def show_one(self, told: Told) -> None:
        """Show what is told of one exercise."""
        self.one.setText("<br>".join(escape(line) for line in (told.heading, *told.lines)))
