"""Sets of exercises without the cost of rendering, and simulated learners who mark them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from radlength.exercise import ExerciseSet, Item, Made, SealedTruth, build_set, course_items
from radlength.exercise.files import edition_of
from radlength.exercise.models import Answer, Attempt, Task, Truth
from radlength.geometry import fit_curve


def speckled(scene: Any, detector: Any) -> np.ndarray:
    """Return an image that shows nothing but is another one for every scene."""
    del detector
    image = np.zeros(scene.view.shape_px, np.uint8)
    image[:40, :30] = np.random.default_rng(scene.seed % 2**32).integers(0, 256, (40, 30), dtype=np.uint8)
    return image


@cache
def course(repeats: int = 3) -> Made:
    return build_set(
        course_items(), title="Course", kind="self-study", secret=None, repeats=repeats, render=speckled
    )


@cache
def traces(count: int = 20, level: str = "curved root", first: int = 500) -> Made:
    """Return a set of whole measurements only."""
    items = [Item("trace", level, first + number) for number in range(count)]
    return build_set(items, title="Traces", kind="self-study", secret=None, repeats=0, render=speckled)


def truth_of(made: Made) -> SealedTruth:
    return SealedTruth.model_validate_json(made.truth)


@dataclass(frozen=True)
class Marker:
    """A learner: SDs per coordinate and a bias, millimetres at the detector; chance of a wrong choice."""

    apex_mm: float = 0.0
    end_mm: float = 0.0
    click_mm: float = 0.0
    apex_bias_mm: float = 0.0
    wrong: float = 0.0
    clicks: int = 8


PERFECT = Marker()
CAREFUL = Marker(apex_mm=0.15, end_mm=0.1, click_mm=0.1)


def answer_of(task: Task, truth: Truth, marker: Marker, rng: np.random.Generator, order: int) -> Answer:
    """Return what a learner marks: the truth, a bias along the canal, and a trembling hand."""
    given: dict[str, Any] = {"task": task.id, "order": order, "seconds": 30.0, "clicks": 2 * marker.clicks}
    pitch = truth.pitch_mm[0]
    canal = _clicked(truth.canal_px, marker.clicks)
    way = canal[-1] - np.array(truth.canal_px[-3])
    canal[-1] += way / np.hypot(*way) * marker.apex_bias_mm / pitch
    canal += _tremor(marker, marker.apex_mm, rng) / pitch
    if task.aim in ("reference", "trace"):
        tool = _clicked(truth.reference_px, marker.clicks) + _tremor(marker, marker.end_mm, rng) / pitch
        if task.aim == "trace":
            tool[0] = canal[0]
        given["reference_px"] = as_tuples(tool)
    if task.aim == "trace":
        given["canal_px"] = as_tuples(canal)
    if task.aim == "apex":
        given["apex_px"] = tuple(map(float, canal[-1]))
    if truth.choice is not None:
        others = [choice for choice in task.choices if choice != truth.choice]
        given["choice"] = str(rng.choice(others)) if rng.random() < marker.wrong else truth.choice
    return Answer(**given)


def attempt_of(made: Made, marker: Marker = PERFECT, seed: int = 0, learner: str = "A01") -> Attempt:
    truth, rng = truth_of(made), np.random.default_rng((seed, 11))
    tasks = made.exercises.tasks
    answers = [
        answer_of(task, truth.answer(task.id), marker, rng, order) for order, task in enumerate(tasks, 1)
    ]
    return attempt_with(made.exercises, answers, learner)


def attempt_with(exercises: ExerciseSet, answers: list[Answer], learner: str = "A01") -> Attempt:
    finished = len(answers) == len(exercises.tasks)
    return Attempt(
        set=exercises.set,
        edition=edition_of(exercises),
        learner=learner,
        finished=finished,
        answers=tuple(answers),
    )


def as_tuples(points: np.ndarray) -> tuple[tuple[float, float], ...]:
    return tuple((float(row), float(column)) for row, column in points)


def _clicked(path_px: Any, clicks: int) -> np.ndarray:
    close = np.array(path_px)
    places = np.linspace(0, len(close) - 1, clicks)
    low = np.minimum(places.astype(int), len(close) - 2)
    rest = (places - low)[:, None]
    return close[low] * (1 - rest) + close[low + 1] * rest


def _tremor(marker: Marker, last_mm: float, rng: np.random.Generator) -> np.ndarray:
    sd = np.array([marker.end_mm, *[marker.click_mm] * (marker.clicks - 2), last_mm])
    return rng.standard_normal((marker.clicks, 2)) * sd[:, None]


def length_by_hand(truth: Truth, answer: Answer) -> float:
    """Return the length of a whole trace straight from its marks: the instrument's length by the rule of three."""
    canal, tool = fit_curve(answer.canal_px).length, fit_curve(answer.reference_px).length
    return truth.reference_mm * canal / tool
