"""How a class agrees: with the truth or a teacher, among itself, and with itself the second time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from radlength.exercise.agreement import FEW, Interval, dahlberg
from radlength.exercise.icc import intraclass_correlations
from radlength.exercise.kappa import Kappa, fleiss_kappa
from radlength.exercise.learner import Summary, decisions_kappa
from radlength.exercise.models import CHOICES, ExerciseSet
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.repeats import repeat_pairs
from radlength.exercise.several import limits_of_several

FloatArray = NDArray[np.float64]
LEAST_EXERCISES = 5
"""Below this a page says that the sample is small. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ClassAgreement:
    """Agreement in a class. A part is ``None`` where there is too little to tell it from.

    Parameters
    ----------
    learners, exercises
        How many of each the errors come from: learners with two measured lengths or more, and exercises that any of
        them measured.
    bias
        Mean error with an interval over learners, millimetres.
    sd
        SD of one error of one learner drawn from the class: between and within learners together.
    lower, upper
        Limits of agreement, bias -+ 1.96 SD.
    icc
        Intraclass correlations of measured lengths, exercises by learners, of those who missed none.
    whole
        How many missed none.
    repeats
        SD within a learner and an image (Dahlberg) of what the marks add, over everybody's repeats.
    learning
        Change of the size of what the marks add from the first to the second time of the same image.
    kappa
        Fleiss' kappa of accept, adjust and repeat among the learners.
    right
        Cohen's kappa of all learners' decisions with what is right; decisions of one learner are not independent.
    parts_mm
        Mean size of each part over the class.
    small
        Whether there are few learners or exercises.
    """

    learners: int
    exercises: int
    bias: Interval | None
    sd: float | None
    lower: Interval | None
    upper: Interval | None
    icc: dict[str, Interval] | None
    repeats: Interval | None
    learning: Interval | None
    kappa: float | None
    right: Kappa | None
    parts_mm: dict[str, float]
    small: bool
    whole: int = 0


def agree(exercises: ExerciseSet, learners: Sequence[Summary]) -> ClassAgreement:
    """Return how a class agrees.

    Parameters
    ----------
    exercises
        The set.
    learners
        Everybody whose attempt counts.

    Notes
    -----
    Several errors of one learner are not independent: bias, SD and limits as :func:`limits_of_several` takes them. Who
    missed an exercise counts with the others: to leave out those who miss most would flatter the class. Intraclass
    correlations need whole rows.
    """
    errors, lengths = _tables(exercises, learners)
    limits = limits_of_several(errors)
    lengths = lengths[~np.any(np.isnan(lengths), axis=1)]
    return ClassAgreement(
        learners=len(errors),
        exercises=errors.shape[1],
        bias=limits.bias if limits else None,
        sd=limits.sd if limits else None,
        lower=limits.lower if limits else None,
        upper=limits.upper if limits else None,
        icc=intraclass_correlations(lengths.T) if min(lengths.shape) >= 2 else None,
        repeats=_repeats(learners),
        learning=_learning(learners),
        kappa=_kappa(learners),
        right=_right(learners),
        parts_mm=_parts(learners),
        small=len(errors) < FEW or errors.shape[1] < LEAST_EXERCISES,
        whole=len(lengths),
    )


def _tables(exercises: ExerciseSet, learners: Sequence[Summary]) -> tuple[FloatArray, FloatArray]:
    """Return errors and measured lengths, learners by exercises, of those who have two or more; NaN where missed."""
    places = {task.id: at for at, task in enumerate(exercises.tasks)}
    errors = np.full((len(learners), len(places)), np.nan)
    lengths = errors.copy()
    for row, learner in enumerate(learners):
        for result in learner.results:
            if result.error_mm is not None and result.measured_mm is not None:
                errors[row, places[result.task]] = result.error_mm
                lengths[row, places[result.task]] = result.measured_mm
    several = np.sum(~np.isnan(errors), axis=1) >= 2
    errors, lengths = errors[several], lengths[several]
    measured = ~np.all(np.isnan(errors), axis=0)
    return errors[:, measured], lengths[:, measured]


def _repeats(learners: Sequence[Summary]) -> Interval | None:
    d = [
        b.own_mm - a.own_mm
        for learner in learners
        for a, b in repeat_pairs(learner.results)
        if a.own_mm is not None and b.own_mm is not None
    ]
    return dahlberg(d) if d else None


def _learning(learners: Sequence[Summary]) -> Interval | None:
    changes = []
    for learner in learners:
        d = [
            abs(b.own_mm) - abs(a.own_mm)
            for a, b in repeat_pairs(learner.results)
            if a.own_mm is not None and b.own_mm is not None
        ]
        if d:
            changes.append(float(np.mean(d)))
    if len(changes) < 2:
        return None
    mean, error = float(np.mean(changes)), float(np.std(changes, ddof=1)) / math.sqrt(len(changes))
    reach = float(stats.t.ppf(0.975, len(changes) - 1)) * error
    return Interval(mean, mean - reach, mean + reach)


def _kappa(learners: Sequence[Summary]) -> float | None:
    choices = CHOICES["confirm"]
    chosen = [{r.task: r.choice for r in one.results if r.aim == "confirm"} for one in learners]
    tasks = sorted(set().union(*chosen)) if chosen else []
    counts = [[sum(one.get(task) == choice for one in chosen) for choice in choices] for task in tasks]
    try:
        found = fleiss_kappa(counts) if counts else math.nan
    except ExerciseError:
        return None
    return None if math.isnan(found) else found


def _right(learners: Sequence[Summary]) -> Kappa | None:
    results = [result for learner in learners for result in learner.results]
    return decisions_kappa(results)


def _parts(learners: Sequence[Summary]) -> dict[str, float]:
    sizes: dict[str, list[float]] = {}
    for learner in learners:
        for result in learner.results:
            for part, value in (result.parts_mm or {}).items():
                sizes.setdefault(part, []).append(abs(value))
    return {part: float(np.mean(values)) for part, values in sizes.items()}
