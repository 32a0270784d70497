"""A learner's own repeatability, from exercises that came twice in disguise."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from radlength.exercise.agreement import Interval, dahlberg
from radlength.exercise.score import MARKS, Result

EXPECTED_SD_MM = {"reference mark": 0.14, "coronal mark": 0.10, "path": 0.05, "apex": 0.30, "own": 0.35}
"""In place of a learner's own spread where nothing came twice: what marks of the usual SD give (stop and tip 0.1 mm,
apex 0.3 mm). Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How far a learner's own repeats scatter.

    Parameters
    ----------
    pairs
        Exercises taken twice.
    own
        SD within a subject of what the marks add to the error, with its interval, millimetres; ``None`` without pairs.
        A simulated tooth that comes again at another size differs by a fortieth, and so does what the marks add.
    parts_sd_mm
        The same by part; the expected ones where there is no pair.
    parts_pairs
        Pairs each part rests on; 0 where it is the expected one.
    """

    pairs: int
    own: Interval | None
    parts_sd_mm: dict[str, float]
    parts_pairs: dict[str, int]

    def reach_mm(self, part: str) -> float:
        """Return how far two tries of this learner may lie apart by chance, 95 %, millimetres.

        The repeatability coefficient sqrt(2) t s with Student's t for as many degrees of freedom as pairs, since an SD
        from few pairs is itself uncertain.
        """
        pairs = self.parts_pairs[part]
        t = float(stats.t.ppf(0.975, pairs)) if pairs else 1.96
        return t * math.sqrt(2) * self.parts_sd_mm[part]


def repeat_pairs(results: Sequence[Result]) -> list[tuple[Result, Result]]:
    """Return results of exercises that came twice, first and second."""
    by_task = {result.task: result for result in results}
    return [
        (by_task[result.repeat_of], result)
        for result in results
        if result.repeat_of is not None and result.repeat_of in by_task
    ]


def repeatability(results: Sequence[Result]) -> Repeatability:
    """Return the repeatability of one learner.

    Parameters
    ----------
    results
        All results of this learner in one set.
    """
    pairs = [(a, b) for a, b in repeat_pairs(results) if a.parts_mm is not None and b.parts_mm is not None]
    own = [b.own_mm - a.own_mm for a, b in pairs if a.own_mm is not None and b.own_mm is not None]
    sds, counts = {}, {}
    for part in MARKS:
        d = [
            b.parts_mm[part] - a.parts_mm[part]
            for a, b in pairs
            if a.parts_mm and b.parts_mm and part in a.parts_mm and part in b.parts_mm
        ]
        counts[part] = len(d)
        sds[part] = float(np.sqrt(np.mean(np.square(d)) / 2)) if d else EXPECTED_SD_MM[part]
    return Repeatability(len(own), dahlberg(own) if own else None, sds, counts)
