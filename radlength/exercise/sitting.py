"""Taking a set, blind: what a window calls while somebody marks. It knows the learner's side only.

Seconds and clicks are counted here; no time of day is kept.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from radlength.errors import RadlengthError
from radlength.exercise.checks import check_attempt, refuse_outside
from radlength.exercise.files import edition_of, open_image, save_attempt
from radlength.exercise.models import CODE_WORDS, Answer, Attempt, ExerciseSet, Task, good_code
from radlength.exercise.refusal import ExerciseError
from radlength.geometry import as_points
from radlength.imaging import Radiograph

_ASKED = {
    "reference": {"reference_px"},
    "trace": {"reference_px", "canal_px"},
    "apex": {"apex_px"},
    "confirm": {"choice"},
    "view": {"choice"},
}
"""What an answer needs, by aim."""


def needed(task: Task) -> frozenset[str]:
    """Return the fields that an answer to an exercise needs.

    A canal of an image without an instrument of known length needs no reference.
    """
    fields = _ASKED[task.aim]
    return frozenset(fields if task.instrument_mm is not None else fields - {"reference_px"})


def make_answer(task: Task, *, order: int, **given: Any) -> Answer:
    """Return a checked answer to an exercise.

    Parameters
    ----------
    task
        The exercise.
    order
        Its place among the answers, from 1.
    **given
        Fields of :class:`Answer`: ``reference_px``, ``canal_px``, ``apex_px``, ``choice``, ``seconds``, ``clicks``.

    Raises
    ------
    ExerciseError
        Something asked for is missing, something else was given, a choice is not on the list, or a mark cannot be
        measured or leaves the image.
    """
    marks = _asked_for(task, given)
    _refuse_commas([given[name] for name in _PATHS if name in marks], task)
    _refuse_commas([[given["apex_px"]]] if "apex_px" in marks else [], task)
    try:
        fields = {**given, **{name: as_points(given[name], subject=name) for name in marks if name in _PATHS}}
        if "apex_px" in marks:
            row, column = given["apex_px"]
            fields["apex_px"] = (float(row), float(column))
        answer = Answer(task=task.id, order=order, **fields)
    except RadlengthError as exc:
        raise ExerciseError(
            exc.wrong, exc.allowed, exc.remedy, code=exc.code, subject=f"exercise {task.id}"
        ) from exc
    except (ValueError, TypeError, OverflowError) as exc:
        raise _no_answer(exc, task) from exc
    refuse_outside(answer, task)
    return answer


def _asked_for(task: Task, given: dict[str, Any]) -> set[str]:
    """Return the fields that hold the answer; refuse others than are asked for, and a choice not on the list."""
    marks = {
        name for name in ("reference_px", "canal_px", "apex_px", "choice") if given.get(name) is not None
    }
    wanted = needed(task)
    if marks != wanted:
        raise ExerciseError(
            f"the answer gives {_listed(marks)}",
            f"exactly {_listed(wanted)}",
            code="answer-parts",
            subject=f"exercise {task.id}",
        )
    if "choice" in wanted and given["choice"] not in task.choices:
        raise ExerciseError(
            "a choice that is not on the list",
            ", ".join(task.choices),
            code="answer-choice",
            subject=f"exercise {task.id}",
        )
    return marks


def _refuse_commas(paths: Sequence[Any], task: Task) -> None:
    """Refuse points of three or four numbers: a decimal comma makes two of one."""
    for path in paths:
        for point in path if isinstance(path, list | tuple) else ():
            if isinstance(point, list | tuple) and len(point) in (3, 4):
                raise ExerciseError(
                    f"a mark that is no point but {len(point)} numbers",
                    "two, row and column",
                    "write a decimal point, never a comma: 413.2",
                    code="answer-points",
                    subject=f"exercise {task.id}",
                )


def _no_answer(exc: Exception, task: Task) -> ExerciseError:
    """Return the refusal of numbers that are none: what was counted, or a mark."""
    if isinstance(exc, ValidationError) and exc.errors()[0]["loc"][0] in ("seconds", "clicks"):
        return ExerciseError(
            "seconds or clicks that cannot be",
            "numbers, 0 or more, or leave them out",
            code="answer-counts",
            subject=f"exercise {task.id}",
        )
    return ExerciseError(
        "a mark that is no point",
        "(row, column) in pixels",
        code="answer-points",
        subject=f"exercise {task.id}",
    )


_PATHS = ("reference_px", "canal_px")


class Sitting:
    """One learner taking one set.

    Parameters
    ----------
    exercises
        The set.
    learner
        A code.
    folder
        Where the images are; needed for :meth:`image` only.
    clock
        Seconds that only grow.
    earlier
        What this learner has handed in before, to go on from there.

    Raises
    ------
    ExerciseError
        A learner by name instead of by code; or what was handed in is of another learner, set or version of it.

    Examples
    --------
    >>> import numpy as np
    >>> from radlength.exercise.course import course_items
    >>> from radlength.exercise.build import build_set
    >>> made = build_set(course_items()[1:2], title="one", kind="self-study", secret=None, repeats=0,
    ...                  render=lambda scene, detector: np.zeros((1240, 940), np.uint8))
    >>> ticks = iter([0.0, 12.5])
    >>> sitting = Sitting(made.exercises, "A07", clock=lambda: next(ticks))
    >>> _ = sitting.begin("01")
    >>> sitting.click()
    >>> answer = sitting.finish(apex_px=(800.0, 400.0))
    >>> answer.seconds, answer.clicks, sitting.attempt().finished
    (12.5, 1, True)
    """

    def __init__(
        self,
        exercises: ExerciseSet,
        learner: str,
        *,
        folder: Path | None = None,
        clock: Callable[[], float] = time.monotonic,
        earlier: Attempt | None = None,
    ) -> None:
        if not good_code(learner):
            raise ExerciseError(
                "this may be a name", f"a code: {CODE_WORDS}", "give each learner a code", code="learner-code"
            )
        self.exercises, self.learner, self.folder = exercises, learner, folder
        self._clock = clock
        self._answers = _answers_of(earlier, exercises, learner)
        self._open: Task | None = None
        self._began, self._clicks = 0.0, 0

    @property
    def open_task(self) -> Task | None:
        """The exercise that was begun and not finished."""
        return self._open

    @property
    def left(self) -> tuple[str, ...]:
        """Numbers of the exercises without an answer, in order."""
        done = {answer.task for answer in self._answers}
        return tuple(task.id for task in self.exercises.tasks if task.id not in done)

    def image(self, task: str) -> Radiograph:
        """Return the image of an exercise, its pixels checked."""
        if self.folder is None:
            raise ExerciseError("no folder of images was given", code="exercise-folder")
        return open_image(self.folder, self._task(task))

    def begin(self, task: str) -> Task:
        """Start the clock on an exercise.

        Raises
        ------
        ExerciseError
            There is none of that number, it has its answer, or another one is open.
        """
        if self._open is not None:
            raise ExerciseError(
                f"exercise {self._open.id} is open", remedy="finish it first", code="exercise-open"
            )
        if task not in self.left:
            self._task(task)
            raise ExerciseError(
                f"exercise {task} has its answer", "one answer each", code="exercise-answered"
            )
        self._open, self._began, self._clicks = self._task(task), self._clock(), 0
        return self._open

    def click(self, count: int = 1) -> None:
        """Count clicks."""
        self._clicks += count

    def finish(self, **marks: Any) -> Answer:
        """Stop the clock and keep the answer; see :func:`make_answer`.

        Raises
        ------
        ExerciseError
            No exercise is open, or the answer is none. Then it stays open, and the clock runs on.
        """
        if self._open is None:
            raise ExerciseError("no exercise is open", remedy="begin one", code="exercise-none-open")
        seconds = round(max(self._clock() - self._began, 0.0), 2)
        answer = make_answer(
            self._open, order=len(self._answers) + 1, seconds=seconds, clicks=self._clicks, **marks
        )
        self._answers.append(answer)
        self._open = None
        return answer

    def attempt(self) -> Attempt:
        """Return what was done so far."""
        return Attempt(
            set=self.exercises.set,
            edition=edition_of(self.exercises),
            learner=self.learner,
            finished=not self.left,
            answers=tuple(self._answers),
        )

    def save(self, path: Path) -> Path:
        """Write what was done so far, so that a crash loses nothing."""
        return save_attempt(self.attempt(), path)

    def _task(self, name: str) -> Task:
        task = self.exercises.task(name)
        if task is None:
            raise ExerciseError(f"there is no exercise {name!r}", code="exercise-unknown")
        return task


def _answers_of(earlier: Attempt | None, exercises: ExerciseSet, learner: str) -> list[Answer]:
    if earlier is None:
        return []
    check_attempt(earlier, exercises)
    if earlier.learner != learner:
        raise ExerciseError(
            f"what was handed in before is {earlier.learner}'s",
            f"an attempt of {learner}",
            "take the code it was begun with",
            code="attempt-other-learner",
            subject=earlier.learner,
        )
    return list(earlier.answers)


def _listed(names: set[str] | frozenset[str]) -> str:
    return ", ".join(sorted(names)) or "nothing"
