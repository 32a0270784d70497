"""Learning over a set. Exercises differ in difficulty, so a learner is compared with the class on the same exercise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from radlength.exercise.agreement import Interval
from radlength.exercise.learner import Summary

LEAST = 6
"""Exercises before a trend is told."""


@dataclass(frozen=True, slots=True)
class Step:
    """One exercise of the class's curve: quartiles of the size of what marks added, millimetres."""

    order: int
    task: str
    low: float
    middle: float
    high: float
    learners: int


def class_curve(learners: Sequence[Summary]) -> tuple[Step, ...]:
    """Return the class's curve: one step for each measured exercise, in the order of the set."""
    sizes: dict[str, list[float]] = {}
    for learner in learners:
        for result in learner.results:
            if result.own_mm is not None:
                sizes.setdefault(result.task, []).append(abs(result.own_mm))
    steps = []
    for order, task in enumerate(sorted(sizes), 1):
        low, middle, high = (float(q) for q in np.quantile(sizes[task], [0.25, 0.5, 0.75]))
        steps.append(Step(order, task, low, middle, high, len(sizes[task])))
    return tuple(steps)


def trend_against(curve: Sequence[Step], learner: Summary) -> Interval | None:
    """Return how fast a learner gains on the class, millimetres an exercise; negative is better.

    Parameters
    ----------
    curve
        The class's.
    learner
        One learner.

    Returns
    -------
    Interval or None
        Theil-Sen slope with its 95 % interval (Sen 1968, as scipy computes it); ``None`` below six exercises or where
        there is no class: then learning and difficulty cannot be told apart.
    """
    usual = {step.task: step.middle for step in curve if step.learners > 1}
    points = [
        (result.order, abs(result.own_mm) - usual[result.task])
        for result in learner.results
        if result.own_mm is not None and result.task in usual
    ]
    if len(points) < LEAST:
        return None
    orders, away = np.array(points).T
    slope, _, low, high = stats.theilslopes(away, orders, 0.95)
    return Interval(float(slope), float(low), float(high))
