"""All that one learner's results say together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from radlength.exercise.advice import Cause, advice_overall, causes
from radlength.exercise.agreement import Interval, share_within
from radlength.exercise.habits import Habit, habits
from radlength.exercise.kappa import Kappa, choice_table, cohens_kappa
from radlength.exercise.models import CHOICES
from radlength.exercise.repeats import Repeatability, repeatability
from radlength.exercise.score import Result

BAND_MM = 0.5
"""Clinical tolerance used by most accuracy studies (review: Tsesis 2015, 10.1111/iej.12140)."""
TARGET = 0.74
"""Share within the band that counts as passed: the lower end of what radiographs reached in 16 studies
(PMC12590451)."""

Verdict = Literal["passed", "not passed", "cannot tell yet"]


@dataclass(frozen=True, slots=True)
class Summary:
    """One learner in one set.

    Parameters
    ----------
    learner
        The code.
    results
        Every exercise.
    measured
        Exercises with a measured length.
    bias_mm, sd_mm
        Mean and SD of the signed error against truth, or of the difference from a teacher's marks.
    own_bias_mm
        Mean of what the marks added.
    within
        Share of own parts within the band; an answer that gives no length, or hides marks off along the tooth, counts
        as outside.
    within_truth
        Share of whole errors within the band, likewise.
    verdict
        By the interval of `within`: passed where all of it is above the target, not passed where all of it is below.
    right, decided
        Right choices, and exercises with a choice.
    kappa
        Agreement of accept, adjust and repeat with what is right; ``None`` without exercises that differ in it.
    repeatability, causes, advice
        The learner's own scatter, the parts' means, and one sentence.
    seconds, clicks
        Medians an exercise, where counted.
    unusable
        Exercises whose answer could not be used.
    missed
        How many of the marking exercises give no length.
    shifted
        How many give one that hides marks off along the tooth.
    habits
        What no mean of a part tells: marks elsewhere, ends whose errors cancel, bends marked straight across.
    """

    learner: str
    results: tuple[Result, ...]
    measured: int
    bias_mm: float | None
    sd_mm: float | None
    own_bias_mm: float | None
    within: Interval | None
    within_truth: Interval | None
    verdict: Verdict
    right: int
    decided: int
    kappa: Kappa | None
    repeatability: Repeatability
    causes: tuple[Cause, ...]
    advice: str
    seconds: float | None
    clicks: float | None
    unusable: tuple[str, ...]
    missed: int = 0
    shifted: int = 0
    habits: tuple[Habit, ...] = ()


def summarise(
    learner: str, results: Sequence[Result], *, band_mm: float = BAND_MM, target: float = TARGET
) -> Summary:
    """Return what one learner's results say.

    Parameters
    ----------
    learner
        The code.
    results
        Every exercise of one attempt.
    band_mm
        Half-width of the band an own part should lie in.
    target
        Share within the band to be reached, 0..1.
    """
    errors = np.array([r.error_mm for r in results if r.error_mm is not None])
    own = np.array([r.own_mm for r in results if r.own_mm is not None])
    in_place = np.array([not r.shifted for r in results if r.error_mm is not None], dtype=bool)
    decided = [r for r in results if r.correct is not None]
    missed, shifted = sum(result.missed for result in results), int(np.sum(~in_place))
    outside = missed + shifted
    marked = len(errors) + missed
    within = share_within(own[in_place], band_mm, missed=outside) if marked else None
    found, told = causes(results), habits(results)
    return Summary(
        learner=learner,
        results=tuple(results),
        measured=len(errors),
        bias_mm=float(errors.mean()) if len(errors) else None,
        sd_mm=float(errors.std(ddof=1)) if len(errors) > 1 else None,
        own_bias_mm=float(own.mean()) if len(own) else None,
        within=within,
        within_truth=share_within(errors[in_place], band_mm, missed=outside) if marked else None,
        verdict=verdict_of(within, target),
        right=sum(bool(r.correct) for r in decided),
        decided=len(decided),
        kappa=decisions_kappa(results),
        repeatability=repeatability(results),
        causes=found,
        advice=advice_overall(found, told),
        seconds=_median([r.seconds for r in results]),
        clicks=_median([r.clicks for r in results]),
        unusable=tuple(r.task for r in results if any(f.severity == "serious" for f in r.findings)),
        missed=missed,
        shifted=shifted,
        habits=told,
    )


def verdict_of(within: Interval | None, target: float = TARGET) -> Verdict:
    """Return whether a share is shown to reach a target, shown not to, or neither.

    Examples
    --------
    >>> verdict_of(Interval(1.0, 0.8, 1.0)), verdict_of(Interval(0.8, 0.5, 0.95))
    ('passed', 'cannot tell yet')
    """
    if within is None or within.low < target <= within.high:
        return "cannot tell yet"
    return "passed" if within.low >= target else "not passed"


def decisions_kappa(results: Sequence[Result]) -> Kappa | None:
    """Return Cohen's kappa of accept, adjust and repeat with what is right; ``None`` where there is nothing to tell.

    So it is without such a decision, and where one choice is right in all of them: whatever is chosen, as many agree as
    chance alone makes agree, and a kappa of 0 would tell nothing of the learner.
    """
    choices = CHOICES["confirm"]
    read = [(r.right_choice, r.choice) for r in results if r.aim == "confirm" and r.choice in choices]
    if len({right for right, _ in read}) < 2:
        return None
    right, chosen = zip(*read, strict=True)
    return cohens_kappa(choice_table([str(c) for c in right], [str(c) for c in chosen], choices))


def _median(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(np.median(known)) if known else None
