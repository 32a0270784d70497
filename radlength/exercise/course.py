"""The built-in course: exercises in rising difficulty, made from public seeds; and how an assessment is drawn.

No image of it is stored: the same seeds make the same images.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.clean import counted
from radlength.exercise.chance import check_secret, number_of
from radlength.exercise.models import AIMS, Aim
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.texts import LESSONS

TITLE = "Built-in course: reading a canal's length"
"""Without the number of exercises: that depends on what is asked and on how many come again."""
FIRST_SEED = 20_100
"""Public: the seed of exercise n is this plus n."""
MOST_ITEMS = 200


@dataclass(frozen=True, slots=True)
class Item:
    """What an exercise is made from.

    Parameters
    ----------
    aim
        What is asked.
    level
        Name of the level.
    seed
        What the scene is drawn from.
    lesson
        What is said before the question.
    """

    aim: Aim
    level: str
    seed: int
    lesson: str = ""


STEPS: tuple[tuple[Aim, str], ...] = (
    ("reference", "straight"),
    ("apex", "straight"),
    ("trace", "straight"),
    ("reference", "curved root"),
    ("apex", "curved root"),
    ("trace", "curved root"),
    ("trace", "bent twice"),
    ("confirm", "tip at length"),
    ("apex", "overlapping canals"),
    ("trace", "overlapping canals"),
    ("view", "overlapping canals"),
    ("trace", "bend along the beam"),
    ("view", "straight"),
    ("apex", "poor exposure"),
    ("reference", "poor exposure"),
    ("view", "poor exposure"),
    ("trace", "poor exposure"),
    ("confirm", "instrument short"),
    ("confirm", "instrument long"),
    ("confirm", "wrong canal"),
)
"""Aim and level of every exercise of the course."""

SIDE_STEPS: tuple[tuple[Aim, str], ...] = (
    ("view", "steep tube"),
    ("view", "canals side by side"),
    ("view", "molar, poor exposure"),
    ("view", "molar, steep tube"),
    ("confirm", "tip very near"),
    ("confirm", "mesial canal for distal"),
    ("confirm", "mesial tip at length"),
    ("confirm", "distal tip at length"),
    ("confirm", "mesial tip very near"),
    ("confirm", "distal tip very near"),
    ("confirm", "distal instrument short"),
)
"""What an assessment may draw beside the steps of the course: for no tooth and no canal is one choice always right."""


def set_title(title: str, items: int, repeats: int) -> str:
    """Return a title with the number of exercises that a learner gets, those that come again included.

    Examples
    --------
    >>> set_title("Assessment", 20, 3)
    'Assessment, 23 exercises'
    """
    return f"{title}, {counted(items + repeats, 'exercise')}"


def course_items() -> tuple[Item, ...]:
    """Return the items of the built-in course."""
    return tuple(
        Item(aim, level, FIRST_SEED + number, lesson)
        for number, ((aim, level), lesson) in enumerate(zip(STEPS, LESSONS, strict=True), 1)
    )


def assessment_items(secret: str, count: int = 20, *, aims: tuple[Aim, ...] = AIMS) -> tuple[Item, ...]:
    """Return items drawn from a secret: which levels, in which order, from which seeds.

    Parameters
    ----------
    secret
        At least 128 bits, hexadecimal. The same secret draws the same items.
    count
        How many, 1 to 200. Aims come as evenly as they can.
    aims
        What may be asked.

    Raises
    ------
    ExerciseError
        A secret that can be guessed, a number of exercises that cannot be, or no aim.
    """
    check_secret(secret)
    if not 1 <= count <= MOST_ITEMS or not aims:
        raise ExerciseError(
            f"{counted(count, 'exercise')} on {counted(len(aims), 'aim')}",
            f"1 to {MOST_ITEMS} exercises on one aim or more",
            code="exercise-count",
        )
    rng = np.random.default_rng(number_of(secret, "items"))
    wanted = [aims[number % len(aims)] for number in range(count)]
    rng.shuffle(wanted)
    pool = {aim: [level for a, level in (*STEPS, *SIDE_STEPS) if a == aim] for aim in aims}
    return tuple(
        Item(aim, pool[aim][int(rng.integers(len(pool[aim])))], number_of(secret, "seed", number))
        for number, aim in enumerate(wanted, 1)
    )
