"""What a learner is told when a set is taken to its end: words and pictures. The truth stays in this room."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from radlength.clean import counted
from radlength.exercise.feedback import Feedback, OneFeedback, give_feedback
from radlength.exercise.files import answers_beside, load_set, load_truth
from radlength.exercise.models import Attempt
from radlength.exercise.picture import Picture, feedback_picture
from radlength.exercise.refusal import ExerciseError
from radlength.record.made import shown


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one exercise.

    Parameters
    ----------
    task
        Its number.
    heading
        What it was.
    lines
        What came of it, as sentences.
    """

    task: str
    heading: str
    lines: tuple[str, ...]


class Ending:
    """The end of a sitting.

    Parameters
    ----------
    feedback
        What the core says of the attempt.
    folder
        Where the images are.
    """

    def __init__(self, feedback: Feedback, folder: Path) -> None:
        self._feedback, self._folder = feedback, folder
        self.lines = feedback.lines
        self.exercises = tuple(_told(one) for one in feedback.exercises)

    def picture(self, task: str) -> Picture | None:
        """Return the picture after an exercise, RGB; ``None`` where nothing was marked.

        Raises
        ------
        ExerciseError
            The image is not the set's.
        """
        one = next(one for one in self._feedback.exercises if one.result.task == task)
        return feedback_picture(one, self._folder) if one.drawable else None


def told_at_the_end(folder: Path, attempt: Attempt, answers: Path | None = None) -> Ending:
    """Return what a learner is told of a finished attempt.

    Parameters
    ----------
    folder
        Folder of the set.
    attempt
        What was handed in.
    answers
        The teacher's file. Beside the folder by default.

    Raises
    ------
    ExerciseError
        Exercises are left, the set is an assessment, or there are no answers to it.
    """
    exercises = load_set(folder)
    if not attempt.finished:
        left = len(exercises.tasks) - len(attempt.answers)
        raise ExerciseError(
            f"{counted(left, 'exercise')} {'is' if left == 1 else 'are'} left",
            "feedback after the last one",
            "hand them in first",
            code="ending-early",
        )
    if exercises.kind == "assessment":
        raise ExerciseError(
            "this is an assessment",
            "feedback from whoever set it",
            "give them your attempt",
            code="ending-assessment",
        )
    place = answers or answers_beside(folder)
    if not place.is_file():
        raise ExerciseError(
            "the answers are not here",
            f"the teacher's file {shown(place.name)} beside the folder",
            "give your attempt to whoever set the exercises",
            code="ending-no-answers",
        )
    return Ending(give_feedback(exercises, load_truth(place, exercises), attempt), folder)


def _told(one: OneFeedback) -> Told:
    more = tuple(f"Published: {figure}" for figure in one.published)
    return Told(one.result.task, one.heading, (*one.lines, *more))
