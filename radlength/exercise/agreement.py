"""Agreement between two sets of measurements: differences, their limits, repeatability, shares within a band.

Plain arrays in, frozen values out; knows no exercise. Every interval is a 95 % interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from radlength.clean import counted
from radlength.exercise.refusal import ExerciseError

FloatArray = NDArray[np.float64]
LEVEL = 0.95
TAIL = (1 - LEVEL) / 2
FEW = 20
"""Below this many differences a page says that the sample is small. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its 95 % confidence interval.

    Parameters
    ----------
    value, low, high
        Same unit. The ends are infinite where the sample says nothing.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Limits:
    """Bias and limits of agreement.

    Parameters
    ----------
    n
        Number of differences.
    bias
        Mean difference.
    sd
        SD of the differences.
    lower, upper
        Limits of agreement, bias -+ factor x sd, with the interval published with them.
    exact_lower, exact_upper
        The same limits with exact intervals, which are right in small samples too.
    """

    n: int
    bias: Interval
    sd: float
    lower: Interval
    upper: Interval
    exact_lower: Interval
    exact_upper: Interval

    @property
    def small(self) -> bool:
        """Whether there are too few differences to lean on the limits."""
        return self.n < FEW


def limits_of_agreement(differences: ArrayLike, *, factor: float = 1.96) -> Limits:
    """Return bias and 95 % limits of agreement of differences.

    Parameters
    ----------
    differences
        One of every subject, shape (N,), N >= 2.
    factor
        SDs from the bias to a limit; 1.96, or the 2 of the original paper.

    Raises
    ------
    ExerciseError
        Fewer than two differences, or one that is no number.

    Notes
    -----
    Bland & Altman, Lancet 1986; i: 307-10: standard error s/sqrt(n) of the bias and sqrt(3 s²/n) of a limit, Student's
    t with n - 1 degrees of freedom. The exact interval of bias + z s is that of a normal quantile, from the
    noncentral t distribution (Carkeet, Optom Vis Sci 2015; formula from memory).

    Examples
    --------
    >>> found = limits_of_agreement([0.2, -0.1, 0.3, 0.0, -0.2])
    >>> round(found.bias.value, 3), round(found.sd, 3), found.small
    (0.04, 0.207, True)
    """
    d = _numbers(differences, least=2)
    n, bias, sd = len(d), float(d.mean()), float(d.std(ddof=1))
    t = float(stats.t.ppf(1 - TAIL, n - 1))
    around_bias, around_limit = t * sd / math.sqrt(n), t * sd * math.sqrt(3 / n)

    def exact(z: float) -> Interval:
        tails = stats.nct.ppf([TAIL, 1 - TAIL], n - 1, z * math.sqrt(n))
        low, high = bias + sd * tails / math.sqrt(n)
        return Interval(bias + z * sd, float(low), float(high))

    lower, upper = bias - factor * sd, bias + factor * sd
    return Limits(
        n=n,
        bias=Interval(bias, bias - around_bias, bias + around_bias),
        sd=sd,
        lower=Interval(lower, lower - around_limit, lower + around_limit),
        upper=Interval(upper, upper - around_limit, upper + around_limit),
        exact_lower=exact(-factor),
        exact_upper=exact(factor),
    )


def dahlberg(differences: ArrayLike) -> Interval:
    """Return Dahlberg's error of duplicate measurements, sqrt(sum d² / 2N): the SD within a subject.

    A bias between first and second is not removed. The interval takes the differences as normal about 0
    (chi-squared with N degrees of freedom).

    Raises
    ------
    ExerciseError
        No difference, or one that is no number.

    Notes
    -----
    Dahlberg 1940, as in Houston 1983 and Galvão 2012.

    Examples
    --------
    >>> round(dahlberg([0.2, -0.1, 0.3, 0.0, -0.2]).value, 4)
    0.1342
    """
    d = _numbers(differences, least=1)
    total = float(np.sum(d**2)) / 2
    high, low = (total / stats.chi2.ppf(q, len(d)) for q in (TAIL, 1 - TAIL))
    return Interval(math.sqrt(total / len(d)), math.sqrt(low), math.sqrt(high))


def repeatability_coefficient(differences: ArrayLike, *, factor: float = 2.0) -> float:
    """Return how far two measurements of one subject by one observer lie apart in 95 % of pairs.

    Parameters
    ----------
    differences
        Second less first, shape (N,).
    factor
        2 as in Bland & Altman 1986, twice the SD of differences about zero; or 1.96.

    Examples
    --------
    >>> round(repeatability_coefficient([0.2, -0.1, 0.3, 0.0, -0.2]), 4)
    0.3795
    """
    d = _numbers(differences, least=1)
    return float(factor * math.sqrt(np.mean(d**2)))


def share_within(values: ArrayLike, band: float, *, missed: int = 0) -> Interval:
    """Return the share of values within -band..band, with Wilson's interval.

    Parameters
    ----------
    values
        One of every subject that has a value.
    band
        Half-width of the band.
    missed
        Subjects without a value; they count as outside.

    Raises
    ------
    ExerciseError
        No subject, or a value that is no number.

    Examples
    --------
    >>> found = share_within([0.1, -0.2, 0.6, 0.5], 0.5)
    >>> found.value, round(found.low, 2), round(found.high, 2)
    (0.75, 0.3, 0.95)
    """
    v = _numbers(values, least=0 if missed else 1)
    inside, n = int(np.sum(np.abs(v) <= band + 1e-9)), len(v) + missed
    return Interval(inside / n, *_wilson(inside, n))


@cache
def _wilson(inside: int, n: int) -> tuple[float, float]:
    found = stats.binomtest(inside, n).proportion_ci(LEVEL, method="wilson")
    return float(found.low), float(found.high)


def _numbers(values: ArrayLike, *, least: int) -> FloatArray:
    v = np.asarray(values, dtype=np.float64).ravel()
    if len(v) < least or not np.all(np.isfinite(v)):
        raise ExerciseError(
            f"{counted(len(v), 'value')}, or one that is no number",
            f"at least {least} finite values",
            code="agreement-values",
        )
    return v
