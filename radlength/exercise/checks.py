"""Whether answers belong to a set: its edition, its exercises, its images."""

from __future__ import annotations

from radlength.exercise.files import edition_of
from radlength.exercise.models import Answer, Attempt, ExerciseSet, Task
from radlength.exercise.refusal import ExerciseError


def check_attempt(attempt: Attempt, exercises: ExerciseSet) -> None:
    """Refuse an attempt that does not answer this set.

    Raises
    ------
    ExerciseError
        Another set, another edition of it, an exercise that is not in it or is answered twice, or a mark that is not
        on its image.
    """
    if attempt.set != exercises.set:
        raise ExerciseError(
            "an attempt at another set",
            "an attempt at this one",
            code="attempt-other-set",
            subject=attempt.learner,
        )
    if attempt.edition != edition_of(exercises):
        raise ExerciseError(
            "an attempt at another version of this set",
            "the version that is scored",
            "score it with the set and the answers it was taken with",
            code="attempt-other-edition",
            subject=attempt.learner,
        )
    tasks = [answer.task for answer in attempt.answers]
    if len(set(tasks)) < len(tasks) or not set(tasks) <= {task.id for task in exercises.tasks}:
        raise ExerciseError(
            "an exercise is answered twice, or is not in the set",
            "one answer to each exercise",
            code="attempt-tasks",
            subject=attempt.learner,
        )
    known = {task.id: task for task in exercises.tasks}
    for answer in attempt.answers:
        refuse_outside(answer, known[answer.task])


def refuse_outside(answer: Answer, task: Task) -> None:
    """Refuse an answer with a mark that is not on the image.

    Raises
    ------
    ExerciseError
        There is one.
    """
    apex = (answer.apex_px,) if answer.apex_px is not None else ()
    for row, column in (*(answer.reference_px or ()), *(answer.canal_px or ()), *apex):
        if not _on_image(row, column, task):
            swapped = _on_image(column, row, task)
            raise ExerciseError(
                f"a mark at {row:g}, {column:g} leaves the image",
                f"{task.rows} rows and {task.columns} columns",
                "the row comes first, then the column: exchange them" if swapped else "mark again",
                code="answer-outside",
                subject=f"exercise {task.id}",
            )


def _on_image(row: float, column: float, task: Task) -> bool:
    return -0.5 <= row <= task.rows - 0.5 and -0.5 <= column <= task.columns - 0.5
