"""Taking a set of exercises: one question at a time, handed in blind; what came of it is told at the end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QTimer
from qtpy.QtWidgets import QFileDialog, QMessageBox, QVBoxLayout

from napari_radlength._exercise_file import EXERCISE_KEY
from napari_radlength._exercise_pages import BeginPage, ClosedPage, EndPage, TaskPage, WaitPage
from napari_radlength._form import FormSection
from napari_radlength._notify import told
from napari_radlength._viewer import fit_view
from radlength.errors import RadlengthError

if TYPE_CHECKING:
    from napari_radlength._exercise_desk import Desk
    from radlength.exercise.ending import Ending


class ExerciseSection(FormSection):
    """One quiet button, until somebody takes exercises; then nothing else of the dock but the image's section."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Exercise")
        self._dock = dock
        self._hidden: list[Any] = []
        self._picture: Any = None
        self.desk: Desk | None = None
        self.ending: Ending | None = None
        self.closed = ClosedPage(self)
        self.begin = BeginPage(self)
        self.task = TaskPage(self, dock)
        self.wait = WaitPage(self)
        self.end = EndPage(self)
        self._pages = (self.closed, self.begin, self.task, self.wait, self.end)
        column = QVBoxLayout(self)
        for page in self._pages:
            column.addWidget(page)
        self._turn_to(self.closed)

    def ask_for_set(self) -> None:
        """Ask for the file of a set, and open it."""
        name, _ = QFileDialog.getOpenFileName(self, "Take an exercise", "", "Exercises (set.json)")
        if name:
            self.open_set(Path(name))

    def take(self, layer: Any) -> None:
        """Open the set that a dropped layer stands for, and take the layer away."""
        path = Path(layer.metadata[EXERCISE_KEY])

        def do() -> None:
            if layer in self._dock.viewer.layers:
                self._dock.viewer.layers.remove(layer)
            self.open_set(path)

        QTimer.singleShot(0, do)

    def open_set(self, path: Path) -> None:
        """Open a set: its title, how to answer, and a place for the learner's code."""
        from napari_radlength._exercise_desk import Desk

        made: list[Desk] = []
        if self.close_set() and _done(lambda: made.append(Desk(path))):
            self.desk = made[0]
            self.begin.show_set(self.desk)
            self._turn_to(self.begin)
            self.begin.code.setFocus()
            self._dock.say()

    def start(self) -> None:
        """Begin, or go on where the learner stopped."""
        desk = self.desk
        if desk is not None and _done(lambda: desk.start(self.begin.code.text().strip())):
            self.begin.code.clearFocus()
            self._next()

    def _next(self) -> None:
        desk, more = self.desk, list[bool]()
        if desk is None or not _done(lambda: more.append(desk.begin())):
            return
        if more[0]:
            self._show_task(desk)
        else:
            self._finish(desk)

    def _show_task(self, desk: Desk) -> None:
        self.task.show_task(desk)
        self._turn_to(self.task)
        self._dock.image.quality.clear()
        self._dock.show_session(desk.session, marker=desk.marker)
        self._give_keys(desk)

    def _give_keys(self, desk: Desk) -> None:
        """Give the keys to the image, or to the choices where nothing is marked; what is hidden hands them on in Qt."""
        here = self._dock.window().focusWidget()
        if here is not None and self._dock.isAncestorOf(here):
            here.clearFocus()
        if desk.marker is not None and not desk.marker.roles:
            self.task.focus_choices()

    def back(self) -> None:
        """Go back to the exercise that waits."""
        if self.desk is not None and self.desk.session is not None:
            self._show_task(self.desk)

    def choose(self, choice: str) -> None:
        """Choose one of the choices of the exercise."""
        if self.desk is not None:
            self.desk.choose(choice)

    def hand_in(self) -> None:
        """Hand in the answer and go on, once asked; what is missing is said, and the exercise stays in hand."""
        desk = self.desk
        if desk is None or desk.session is None or not _done(desk.refuse_unfinished) or not self.is_sure():
            return
        done = desk.session
        if _done(desk.hand_in):
            _done(desk.save)
            self._dock.forget(done)
            self._dock.keys_to_image()
            self._next()

    def is_sure(self) -> bool:
        """Ask whether the answer is to be handed in: it can be given once."""
        buttons = QMessageBox.StandardButton
        words = f"{self.task.progress.text()} Hand in the answer? It is final."
        box = QMessageBox(QMessageBox.Icon.Question, "Hand in", words, parent=self)
        box.setObjectName("radlength_hand_in_question")
        box.addButton(buttons.Ok).setText("Hand in")
        box.addButton(buttons.Cancel).setText("Go on with it")
        box.setDefaultButton(buttons.Ok)
        box.setEscapeButton(buttons.Cancel)
        box.exec()
        return bool(box.standardButton(box.clickedButton()) == buttons.Ok)

    def _finish(self, desk: Desk) -> None:
        from radlength.exercise.ending import told_at_the_end

        self.ending, why = None, ""
        assert desk.sitting is not None  # noqa: S101 - it has just said that nothing is left
        try:
            self.ending = told_at_the_end(desk.folder, desk.sitting.attempt())
        except RadlengthError as exc:
            why = str(exc)
        self.end.show_end(desk, self.ending, why)
        self._turn_to(self.end)

    def show_told(self, index: int) -> None:
        """Show what is told of one exercise, with its picture."""
        if self.ending is None or self.desk is None or not 0 <= index < len(self.ending.exercises):
            return
        one = self.ending.exercises[index]
        self.end.show_one(one)
        self._take_picture_away()
        with told():
            picture: Any = self.ending.picture(one.task)
            if picture is None and self.desk.sitting is not None:
                picture = self.desk.sitting.image(one.task).display()
            grey = {} if picture.ndim == 3 else {"colormap": "gray"}
            viewer = self._dock.viewer
            self._picture = viewer.add_image(picture, name=f"exercise {one.task}", rgb=not grey, **grey)
            fit_view(viewer)

    def _take_picture_away(self) -> None:
        if self._picture is not None and self._picture in self._dock.viewer.layers:
            self._dock.viewer.layers.remove(self._picture)
        self._picture = None

    def close_set(self) -> bool:
        """Stop; what was handed in is kept, the exercise in hand is not. Tell whether everything is on the disk."""
        desk = self.desk
        if desk is None:
            return True
        if not _done(desk.save):
            return False
        self._take_picture_away()
        self.desk = self.ending = None
        if desk.session is not None:
            self._dock.forget(desk.session)
        self._turn_to(self.closed)
        self._dock.say()
        return True

    def words(self) -> str:
        """Return what to do next in the exercise in hand; nothing where none is shown."""
        desk = self.desk
        if desk is not None and desk.marker is not None and self.in_hand:
            return desk.marker.words()
        if desk is None or self._dock.session is not None:
            return ""
        return (
            "Your code first, then the exercises" if desk.sitting is None else "All exercises are handed in"
        )

    @property
    def in_hand(self) -> bool:
        """Whether the image that is shown is that of the exercise in hand."""
        return (
            self.desk is not None
            and self.desk.session is not None
            and self._dock.session is self.desk.session
        )

    def show_dock(self, dock: Any) -> None:
        """Let the exercise wait while another image is shown."""
        if self.desk is None or self.desk.session is None:
            return
        if self.in_hand:
            self.task.show_marks(self.desk)
            self._turn_to(self.task)
        else:
            self.wait.show_waiting(self.desk)
            self._turn_to(self.wait)
        del dock

    def _turn_to(self, page: Any) -> None:
        for one in self._pages:
            one.setVisible(one is page)
        self.setFlat(page is self.closed)
        self.setTitle("" if page is self.closed else "Exercise")
        self._put_away(self._others(page))

    def _others(self, page: Any) -> list[Any]:
        """Return what is put away beside a page: all that tells a length, a name or a doubt."""
        if page in (self.closed, self.wait):
            return []
        sections = self._dock.sections
        kept = (self, sections["image"]) if page is self.task else (self,)
        return [self._dock.headline, *(one for one in sections.values() if one not in kept)]

    def _put_away(self, others: list[Any]) -> None:
        """Hide these; what was hidden here and is not among them comes back."""
        for one in self._hidden:
            if one not in others:
                one.show()
        self._hidden = [one for one in others if one in self._hidden or not one.isHidden()]
        for one in others:
            one.hide()


def _done(do: Callable[[], object]) -> bool:
    """Do something; say a refusal as a sentence and tell whether it was done."""
    done = []
    with told():
        do()
        done.append(True)
    return bool(done)
