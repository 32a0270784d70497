"""One sentence of advice: from the largest part of an error that exceeds the learner's own repeatability.

Over a whole set a cause is named where its mean is larger than chance explains and large enough to matter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from radlength.exercise.habits import Habit
from radlength.exercise.place import ELSEWHERE
from radlength.exercise.repeats import Repeatability
from radlength.exercise.score import MARKS, Result
from radlength.exercise.straight import STRAIGHT

MATTERS_MM = 0.1
"""A part smaller than this is not spoken of: lengths are told to a tenth. Common practice, no source."""
FALSE_ALARMS = 0.04
"""Chance that any cause is named for marks without a bias, over all four parts (Sidak)."""
LEAST = 5
"""Exercises a cause must be seen in before it is named."""

NO_CAUSE = "No cause stands out from your own scatter."
ONLY_STRAIGHT = "Mend the straight line first: nothing else stands out from your own scatter."

_WORDS = {
    ("reference mark", 1): (
        "The instrument was marked too short, which makes everything too long: take both its ends again, from the "
        "lower face of the stop to the very tip, along its bend."
    ),
    ("reference mark", -1): (
        "The instrument was marked too long, which makes everything too short: start at the lower face of the stop and "
        "stop at the tip."
    ),
    ("coronal mark", 1): (
        "The reference point was set too far from the apex: put it where the lower face of the stop touches the crown."
    ),
    ("coronal mark", -1): (
        "The reference point was set too near to the apex: put it where the lower face of the stop touches the crown."
    ),
    ("path", 1): "The course wanders from the canal: fewer, calmer clicks in its middle.",
    ("path", -1): "The course cuts the bend short: click inside the bend, not only before and after it.",
    ("apex", 1): "The apex was set too far out: follow the root's outline from both sides and stop where they meet.",
    ("apex", -1): "The apex was set too short: follow the root's outline from both sides to where they meet.",
    ("geometry", 1): "Most of it is geometry that nobody could see on this image: your marks are not the cause.",
    ("geometry", -1): "Most of it is geometry that nobody could see on this image: your marks are not the cause.",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cause:
    """The mean of one part over many exercises.

    Parameters
    ----------
    part
        Which part.
    n
        Exercises it was seen in.
    mean_mm, low_mm, high_mm
        Mean with its 95 % interval.
    stands_out
        Whether chance explains it badly and it is large enough to matter.
    """

    part: str
    n: int
    mean_mm: float
    low_mm: float
    high_mm: float
    stands_out: bool


def advice_for(result: Result, own: Repeatability) -> str:
    """Return the sentence after one exercise.

    Parameters
    ----------
    result
        What came of it.
    own
        The learner's repeatability; a part within its reach is not spoken of, however large another is. Geometry is
        where it is more than all marks together.
    """
    if result.correct is not None:
        return "Right." if result.correct else f"Right would have been “{result.right_choice}”."
    if any(finding.code == ELSEWHERE for finding in result.findings):
        return "Find the canal and its apex first: a length tells something only where the marks lie on them."
    if result.shifted:
        return "Look at where each end lies, not at the length: two errors that cancel leave it as it is."
    if not result.parts_mm:
        return "There is nothing to say: the answer could not be measured."
    marks = {name: value for name, value in result.parts_mm.items() if name != "geometry"}
    geometry = result.parts_mm.get("geometry", 0.0)
    if abs(geometry) > max(MATTERS_MM, sum(map(abs, marks.values()))):
        return sentence("geometry", geometry)
    beyond = [name for name, value in marks.items() if abs(value) > max(own.reach_mm(name), MATTERS_MM)]
    part = max(beyond, key=lambda name: abs(marks[name]), default=None)
    straight = any(finding.code == STRAIGHT for finding in result.findings)
    nothing = ONLY_STRAIGHT if straight else NO_CAUSE
    return nothing if part is None else sentence(part, marks[part])


def causes(results: Sequence[Result]) -> tuple[Cause, ...]:
    """Return the means of all parts that a learner made, largest first.

    Parameters
    ----------
    results
        All results of this learner.

    Notes
    -----
    A two-sided t test of each part against zero, at 1 - (1 - 0.04)^(1/4) so that all four together rarely name one by
    chance (Sidak 1967), and a mean of at least 0.1 mm.
    """
    found = []
    level = 1 - (1 - FALSE_ALARMS) ** (1 / len(MARKS))
    for part in MARKS:
        values = np.array([r.parts_mm[part] for r in results if r.parts_mm and part in r.parts_mm])
        if len(values) < 2:
            continue
        mean, *reach = mean_and_reach(values, 0.05, level)
        out = len(values) >= LEAST and abs(mean) > reach[1] and abs(mean) >= MATTERS_MM
        found.append(Cause(part, len(values), mean, mean - reach[0], mean + reach[0], out))
    return tuple(sorted(found, key=lambda cause: -abs(cause.mean_mm)))


def mean_and_reach(values: NDArray[np.float64], *tails: float) -> tuple[float, ...]:
    """Return the mean of values, and how far from it the true one may lie but for each of some probabilities (t)."""
    mean, error = float(values.mean()), float(values.std(ddof=1)) / math.sqrt(len(values))
    return mean, *(_t(1 - tail / 2, len(values) - 1) * error for tail in tails)


@cache
def _t(share: float, freedom: int) -> float:
    return float(stats.t.ppf(share, freedom))


def advice_overall(found: Sequence[Cause], told: Sequence[Habit] = ()) -> str:
    """Return what is said after a whole set: habits first, then the largest cause that stands out.

    Parameters
    ----------
    found
        Causes, largest first.
    told
        What no mean of a part tells; with it nobody is told that nothing stands out.
    """
    lines = [habit.sentence for habit in told]
    cause = next((cause for cause in found if cause.stands_out), None)
    if cause is not None:
        average = f"On average {cause.mean_mm:+z.2f} mm over {cause.n} exercises."
        lines.append(f"{sentence(cause.part, cause.mean_mm)} {average}")
    return " ".join(lines) or NO_CAUSE


def sentence(part: str, value_mm: float) -> str:
    """Return what to do about a part of an error of that sign."""
    return _WORDS[part, 1 if value_mm > 0 else -1]
