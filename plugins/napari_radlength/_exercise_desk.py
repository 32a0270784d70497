"""A learner's desk: one set, one sitting, the exercise in hand. No Qt, no napari; it never knows an answer."""

from __future__ import annotations

from pathlib import Path

from napari_radlength._exercise_marking import BlindMarker, BlindSession, marks_of
from radlength.exercise import Attempt, ExerciseError, Sitting, Task, load_attempt, load_set
from radlength.exercise.files import folder_of


class Desk:
    """One set that is being taken.

    Parameters
    ----------
    path
        Its folder, or the file in it.

    Raises
    ------
    ExerciseError
        No such set.
    """

    def __init__(self, path: Path) -> None:
        self.folder = folder_of(path)
        self.exercises = load_set(path)
        self.sitting: Sitting | None = None
        self.session: BlindSession | None = None
        self.marker: BlindMarker | None = None
        self.choice: str | None = None
        self.saved = True
        self._kept: Attempt | None = None

    @property
    def task(self) -> Task | None:
        """The exercise in hand."""
        return self.sitting.open_task if self.sitting is not None else None

    @property
    def count(self) -> int:
        """How many exercises the set has."""
        return len(self.exercises.tasks)

    @property
    def handed_in(self) -> int:
        """How many have their answer."""
        return 0 if self.sitting is None else self.count - len(self.sitting.left)

    @property
    def attempt_path(self) -> Path:
        """Where what is handed in is kept: beside the folder, so that nothing is added to what everybody gets."""
        learner = "" if self.sitting is None else self.sitting.learner
        return self._place(learner)

    def _place(self, learner: str) -> Path:
        return self.folder.resolve().parent / f"{learner}.attempt.json"

    def start(self, learner: str) -> None:
        """Begin, or go on where this learner stopped.

        Raises
        ------
        ExerciseError
            A name instead of a code; what was handed in under that code is of another set; or nothing can be kept.
        """
        Sitting(self.exercises, learner)
        place = self._place(learner)
        earlier = load_attempt(place) if place.exists() else None
        try:
            sitting = Sitting(self.exercises, learner, folder=self.folder, earlier=earlier)
        except ExerciseError as exc:
            raise ExerciseError(
                exc.wrong, exc.allowed, f"move {place.name} away", code=exc.code, subject=learner
            ) from exc
        try:
            sitting.save(place)
        except ExerciseError as exc:
            raise ExerciseError(
                exc.wrong,
                "a folder of exercises beside which your answers can be kept",
                "copy the folder of exercises to a place of your own and open it there",
                code=exc.code,
                subject=str(place),
            ) from exc
        self.sitting, self._kept = sitting, sitting.attempt()

    def begin(self) -> bool:
        """Take the next exercise in hand; tell whether there is one.

        Raises
        ------
        ExerciseError, ImageError
            Its image is not there, or not the set's.
        """
        sitting = self.sitting
        if sitting is None or not sitting.left:
            return False
        radiograph = sitting.image(sitting.left[0])
        task = sitting.begin(sitting.left[0])
        self.choice = None
        self.session = BlindSession(radiograph, task)
        self.marker = BlindMarker(self.session, task, sitting.click)
        return True

    def choose(self, choice: str) -> None:
        """Choose one of the choices."""
        if self.sitting is not None and choice != self.choice:
            self.sitting.click()
        self.choice = choice

    def hand_in(self) -> None:
        """Keep the answer to the exercise in hand. It can be given once.

        Raises
        ------
        ExerciseError
            Something asked for is not marked or chosen; the exercise stays in hand.
        """
        if self.sitting is None or self.task is None or self.session is None:
            return
        self.refuse_unfinished()
        given = marks_of(self.session, self.task)
        if self.choice is not None:
            given["choice"] = self.choice
        self.sitting.finish(**given)
        self.saved = False
        self.session = self.marker = None

    def refuse_unfinished(self) -> None:
        """Refuse what cannot be handed in yet.

        Raises
        ------
        ExerciseError
            Something asked for is not marked or chosen.
        """
        task, marker = self.task, self.marker
        if task is None or marker is None:
            return
        names = {"reference": "the instrument", "canal": "the apex" if task.aim == "apex" else "the canal"}
        left = [names[role] for role in marker.roles if not marker.is_marked(role)]
        left += ["a choice"] if task.choices and self.choice is None else []
        if left:
            raise ExerciseError(
                f"{' and '.join(left)} {'is' if len(left) == 1 else 'are'} missing",
                remedy="mark it, then hand in" if marker.roles else "choose, then hand in",
                code="answer-parts",
                subject=f"exercise {task.id}",
            )

    def save(self) -> None:
        """Write what was handed in.

        Raises
        ------
        ExerciseError
            The folder cannot be written, or another window has handed in under this code; what was handed in stays
            here.
        """
        if self.sitting is not None and not self.saved:
            self._refuse_replacing(self.attempt_path)
            self.sitting.save(self.attempt_path)
            self.saved, self._kept = True, self.sitting.attempt()

    def _refuse_replacing(self, place: Path) -> None:
        """Refuse to write over answers that were not handed in here."""
        if place.exists() and load_attempt(place) != self._kept:
            raise ExerciseError(
                f"{place.name} holds answers that were handed in elsewhere",
                "one window for one code",
                f"move {place.name} away; what was handed in here is kept until then",
                code="attempt-elsewhere",
                subject=self._kept.learner if self._kept is not None else place.name,
            )
