"""The three files of an exercise as frozen models: what a learner gets, what a teacher keeps, what a learner did.

A model of the learner's side has no field that could hold an answer: no length, no true mark, no seed, no level.
"""

from __future__ import annotations

import re
from typing import Annotated, Final, Literal, get_args

from pydantic import AfterValidator, Field

from radlength.geometry import Point
from radlength.record.models import COORDINATES, Coordinates, Frozen, Sha256
from radlength.trade import CAUTION
from radlength.uncertainty import Marking

SET_FORMAT: Final = "radlength-exercise-set"
TRUTH_FORMAT: Final = "radlength-exercise-truth"
ATTEMPT_FORMAT: Final = "radlength-attempt"
VERSION: Final = 1

Aim = Literal["reference", "trace", "apex", "confirm", "view"]
"""``reference``: mark the instrument. ``trace``: instrument and canal. ``apex``: choose the apex only.
``confirm``: read a length-confirmation image. ``view``: say which further image would help."""

AIMS: tuple[Aim, ...] = get_args(Aim)
MARKED: tuple[Aim, ...] = ("reference", "trace", "apex")
CHOICES: dict[Aim, tuple[str, ...]] = {
    "confirm": ("accept", "adjust", "repeat"),
    "view": ("enough", "shift", "vertical", "exposure"),
}
"""What may be chosen, by aim."""

SetKind = Literal["self-study", "assessment", "real images"]
Basis = Literal["simulated", "teacher"]
"""Whether the answer is known, or is what a teacher marked."""

TaskId = Annotated[str, Field(pattern="^[0-9]{2,3}$")]
CODE_WORDS = "2 to 12 capital letters, digits and hyphens, at least one of them a digit, and no COM1 or LPT1"


def good_code(code: str) -> bool:
    """Tell whether a text may stand for a learner: a code, so that no bare name fits, and none that Windows keeps.

    Examples
    --------
    >>> [good_code(code) for code in ("A07", "Anna", "ANNA", "7", "B-12", "COM1")]
    [True, False, False, False, True, False]
    """
    return bool(re.fullmatch(r"(?=.*[0-9])(?!(COM|LPT)[0-9]$)[A-Z0-9][A-Z0-9-]{1,11}", code, re.ASCII))


def _code(code: str) -> str:
    if not good_code(code):
        message = f"a learner by code, never by name: {CODE_WORDS}"
        raise ValueError(message)
    return code


Code = Annotated[str, AfterValidator(_code)]
"""A learner by code; see :func:`good_code`."""
SetId = Annotated[str, Field(pattern="^[0-9a-f]{32}$")]
Path = Annotated[tuple[Point, ...], Field(min_length=2, max_length=500)]
Text = Annotated[str, Field(max_length=2000)]
Positive = Annotated[float, Field(gt=0)]


class Task(Frozen):
    """One exercise as the learner sees it.

    Parameters
    ----------
    id
        Number in the set.
    aim
        What is asked.
    difficulty
        1 to 6.
    text
        The question.
    image
        File name beside the set file.
    rows, columns, pixel_sha256
        The image, by its pixels.
    pitch_mm
        Size of a pixel down and across at the detector, where it is known.
    tooth, canal
        What is to be measured, tooth by ISO 3950.
    instrument_mm, instrument_limit_mm
        Stop to tip of the instrument in that canal as it was set, and the half-width it is known to.
    choices
        What may be chosen, where something is.
    """

    id: TaskId
    aim: Aim
    difficulty: Annotated[int, Field(ge=1, le=6)]
    text: Text
    image: Annotated[str, Field(pattern=r"^[0-9]{2,3}\.png$")]
    rows: Annotated[int, Field(ge=1)]
    columns: Annotated[int, Field(ge=1)]
    pixel_sha256: Sha256
    pitch_mm: tuple[Positive, Positive] | None = None
    tooth: Annotated[str, Field(max_length=4)]
    canal: Annotated[str, Field(max_length=40)]
    instrument_mm: Positive | None = None
    instrument_limit_mm: Annotated[float, Field(ge=0)] | None = None
    choices: tuple[str, ...] = ()


class ExerciseSet(Frozen):
    """What a learner gets, beside the images.

    Parameters
    ----------
    set
        Name of the set; tells nothing.
    title, kind, invented
        What it is.
    rule
        Rule for accepting a length-confirmation image, by name.
    how
        How to answer, in words.
    tasks
        The exercises in order.
    seal_sha256
        SHA-256 of the teacher's file: it cannot be exchanged afterwards.
    """

    format: Literal["radlength-exercise-set"] = SET_FORMAT
    version: Literal[1] = VERSION
    set: SetId
    title: Annotated[str, Field(max_length=200)]
    kind: SetKind
    invented: bool
    rule: Annotated[str, Field(max_length=100)]
    how: Text
    coordinates: Coordinates = COORDINATES
    tasks: Annotated[tuple[Task, ...], Field(min_length=1, max_length=999)]
    seal_sha256: Sha256
    software: Annotated[str, Field(max_length=100)]
    caution: Annotated[str, Field(max_length=1000)] = CAUTION

    def task(self, name: str) -> Task | None:
        """Return an exercise by its number, if it is there."""
        return next((task for task in self.tasks if task.id == name), None)


class Greys(Frozen):
    """Another window of the same image: grey = (old - low) / (high - low), then a power."""

    low: float
    high: float
    power: Positive


class Truth(Frozen):
    """The answer to one exercise.

    Parameters
    ----------
    task
        Number of the exercise.
    basis
        Whether it is known, or a teacher's marks.
    level
        What was put into the image.
    seed
        What the image was made from.
    length_mm
        Canal length; of a teacher's marks the length they give. An exercise that comes again may show the tooth of its
        seed at another size.
    gap_mm
        From the instrument's tip to the foramen, negative beyond it.
    canal_px
        The canal on the image from the reference point to the apex, close together.
    reference_px, reference_mm, reference_limit_mm
        The instrument on the image from stop to tip, and its length.
    mm_per_unit
        The scale, where nothing of known length lies in the image.
    pitch_mm
        Size of a pixel down and across.
    marking
        How far the teacher's marks may be off; ``None`` for a known truth.
    choice, why
        The right choice, and the reason.
    repeat_of
        The exercise this one shows again.
    mirrored, greys
        What was done to the image of its seed: left and right exchanged, another window.
    """

    task: TaskId
    basis: Basis
    level: Annotated[str, Field(max_length=100)]
    seed: Annotated[str, Field(pattern="^[0-9]{1,80}$")] | None = None
    length_mm: Positive
    gap_mm: float | None = None
    canal_px: Path
    reference_px: Path | None = None
    reference_mm: Positive | None = None
    reference_limit_mm: Annotated[float, Field(ge=0)] | None = None
    mm_per_unit: Positive | None = None
    pitch_mm: tuple[Positive, Positive] = (1.0, 1.0)
    marking: Marking | None = None
    choice: str | None = None
    why: Text = ""
    repeat_of: TaskId | None = None
    mirrored: bool = False
    greys: Greys | None = None


class SealedTruth(Frozen):
    """What the teacher keeps. Whoever has this file has every answer.

    Parameters
    ----------
    set, edition
        The set it belongs to, and the digest of that set's exercises.
    secret
        Hexadecimal; the seeds of an assessment follow from it.
    answers
        One for each exercise.
    """

    format: Literal["radlength-exercise-truth"] = TRUTH_FORMAT
    version: Literal[1] = VERSION
    set: SetId
    edition: Sha256
    secret: Annotated[str, Field(pattern="^[0-9a-f]{32,128}$")] | None = None
    answers: tuple[Truth, ...]
    caution: Annotated[str, Field(max_length=1000)] = CAUTION

    def answer(self, task: str) -> Truth | None:
        """Return the answer to an exercise, if it is there."""
        return next((truth for truth in self.answers if truth.task == task), None)


class Answer(Frozen):
    """What a learner did in one exercise.

    Parameters
    ----------
    task
        Number of the exercise.
    order
        Its place in the order they were taken in, from 1.
    seconds, clicks
        Time and clicks it took, as the learner's program counted them.
    reference_px
        The instrument from stop to tip.
    canal_px
        The canal from the reference point to the radiographic apex.
    apex_px
        The radiographic apex, where only that was asked.
    choice
        What was chosen.
    """

    task: TaskId
    order: Annotated[int, Field(ge=1, le=9999)]
    seconds: Annotated[float, Field(ge=0, le=1e6)] | None = None
    clicks: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    reference_px: Path | None = None
    canal_px: Path | None = None
    apex_px: Point | None = None
    choice: Annotated[str, Field(max_length=40)] | None = None


class Attempt(Frozen):
    """All that is kept of a learner: a code, marks, choices, seconds and clicks.

    Parameters
    ----------
    set, edition
        What was taken.
    learner
        A code, never a name.
    finished
        Whether every exercise has its answer.
    answers
        In the order they were given.
    """

    format: Literal["radlength-attempt"] = ATTEMPT_FORMAT
    version: Literal[1] = VERSION
    set: SetId
    edition: Sha256
    learner: Code
    finished: bool
    answers: tuple[Answer, ...]
    caution: Annotated[str, Field(max_length=1000)] = CAUTION
