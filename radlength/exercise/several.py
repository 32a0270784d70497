"""Bias and limits of agreement where every observer gives several differences, not equally many.

Plain arrays in, frozen values out; knows no exercise. Every interval is a 95 % interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from radlength.exercise.agreement import TAIL, Interval

FloatArray = NDArray[np.float64]
FACTOR = 1.96


@dataclass(frozen=True, slots=True)
class Several:
    """Bias and limits of agreement of a group.

    Parameters
    ----------
    bias
        Mean difference over observers.
    sd
        SD of one difference of one observer: between and within observers together.
    lower, upper
        Limits of agreement, bias -+ 1.96 SD.
    """

    bias: Interval
    sd: float
    lower: Interval
    upper: Interval


def limits_of_several(differences: FloatArray) -> Several | None:
    """Return bias and limits of a table of observers by subjects, or ``None`` of fewer than two observers.

    Parameters
    ----------
    differences
        Shape (n, m), NaN where one is missing; at least two in every row.

    Notes
    -----
    The bias rests on the observers' means (Bland & Altman, Stat Methods Med Res 1999; 8: 135-60, 5.3). The variance is
    that of the means and, of the one within observers, what means lack of it: where all have equally many, the one-way
    analysis of variance. Intervals of the limits by recovering variances from the intervals of both parts (Zou, Stat
    Methods Med Res 2013; 22: 630-42), with Student's t for the bias. They hold in groups of two too, where resampling
    of observers holds in three quarters of groups of five only, and where observers do not differ at all.

    Examples
    --------
    >>> found = limits_of_several(np.array([[0.1, 0.3], [-0.2, 0.0], [0.2, 0.2]]))
    >>> round(found.bias.value, 2), round(found.sd, 2), round(found.upper.value, 2)
    (0.1, 0.19, 0.48)
    """
    n = len(differences)
    if n < 2:
        return None
    counts = np.sum(~np.isnan(differences), axis=1)
    means, squares = np.nanmean(differences, axis=1), np.nanvar(differences, axis=1) * counts
    freedom = int(counts.sum()) - n
    among = float(means.var(ddof=1))
    within = float(squares.sum()) / freedom * (1 - float(np.mean(1 / counts)))
    bias, sd = float(means.mean()), math.sqrt(among + within)
    reach = float(stats.t.ppf(1 - TAIL, n - 1)) * math.sqrt(among / n)
    less, more = _reaches(among, n - 1, within, freedom)
    inner, outer = math.hypot(reach, FACTOR * less), math.hypot(reach, FACTOR * more)
    low, high = bias - FACTOR * sd, bias + FACTOR * sd
    return Several(
        bias=Interval(bias, bias - reach, bias + reach),
        sd=sd,
        lower=Interval(low, low - outer, low + inner),
        upper=Interval(high, high - inner, high + outer),
    )


def _reaches(among: float, observers: int, within: float, rest: int) -> tuple[float, float]:
    """Return how far below and above its estimate an SD lies that is the root of two parts of a variance.

    Parameters
    ----------
    among, observers
        Variance of the observers' means, with its degrees of freedom.
    within, rest
        What that lacks of the whole variance, with its degrees of freedom.
    """
    parts = ((among, observers), (within, rest))
    low, high = (
        math.hypot(*(part * (freedom / float(stats.chi2.ppf(tail, freedom)) - 1) for part, freedom in parts))
        for tail in (1 - TAIL, TAIL)
    )
    total = among + within
    return math.sqrt(total) - math.sqrt(max(total - low, 0.0)), math.sqrt(total + high) - math.sqrt(total)
