"""The six intraclass correlations of a table of targets by observers, with their confidence intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from radlength.exercise.agreement import TAIL, Interval
from radlength.exercise.refusal import ExerciseError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Mean squares of a two-way table: between targets, within targets, between observers, rest.

    Parameters
    ----------
    targets, observers
        Size of the table.
    between, within, judges, error
        BMS, WMS, JMS and EMS.
    """

    targets: int
    observers: int
    between: float
    within: float
    judges: float
    error: float


def mean_squares(table: ArrayLike) -> MeanSquares:
    """Return the mean squares of a table of targets (rows) by observers (columns), shape (n, k).

    Raises
    ------
    ExerciseError
        Fewer than two rows or columns, or a value that is no number.
    """
    x = np.asarray(table, dtype=np.float64)
    if x.ndim != 2 or min(x.shape) < 2 or not np.all(np.isfinite(x)):
        raise ExerciseError(
            f"a table of shape {x.shape}, or a value missing",
            "at least two targets, each by the same two observers or more",
            code="icc-table",
        )
    n, k = x.shape
    mean = x.mean()
    within = float(((x - x.mean(axis=1, keepdims=True)) ** 2).sum())
    judges = float(n * ((x.mean(axis=0) - mean) ** 2).sum())
    between = float(k * ((x.mean(axis=1) - mean) ** 2).sum())
    return MeanSquares(
        n,
        k,
        between / (n - 1),
        within / (n * (k - 1)),
        judges / (k - 1),
        max(within - judges, 0.0) / ((n - 1) * (k - 1)),
    )


def intraclass_correlations(table: ArrayLike) -> dict[str, Interval]:
    """Return ICC(1,1), (2,1), (3,1), (1,k), (2,k) and (3,k) with 95 % intervals.

    Parameters
    ----------
    table
        Targets by observers, shape (n, k).

    Returns
    -------
    dict
        By the names of Shrout & Fleiss. (2,1) is agreement of single observers drawn from many; (3,1) is consistency
        of these observers, biases between them left out. NaN where every value is the same.

    Raises
    ------
    ExerciseError
        As :func:`mean_squares`.

    Notes
    -----
    Shrout & Fleiss, Psychol Bull 1979; 86: 420-8, with its intervals; that of (2,1) by Satterthwaite's degrees of
    freedom.

    Examples
    --------
    >>> table = [(9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7)]
    >>> {name: round(found.value, 2) for name, found in intraclass_correlations(table).items()}
    {'(1,1)': 0.17, '(2,1)': 0.29, '(3,1)': 0.71, '(1,k)': 0.44, '(2,k)': 0.62, '(3,k)': 0.91}
    """
    ms = mean_squares(table)
    with np.errstate(all="ignore"):
        one, two, three = _one_way(ms), _two_way(ms), _fixed(ms)
    k = ms.observers
    return {
        "(1,1)": one,
        "(2,1)": two,
        "(3,1)": three,
        "(1,k)": _averaged(one, k),
        "(2,k)": _averaged(two, k),
        "(3,k)": _averaged(three, k),
    }


def _one_way(ms: MeanSquares) -> Interval:
    n, k = ms.targets, ms.observers
    return _of_ratio(np.divide(ms.between, np.float64(ms.within)), n - 1, n * (k - 1), k)


def _fixed(ms: MeanSquares) -> Interval:
    n, k = ms.targets, ms.observers
    return _of_ratio(np.divide(ms.between, np.float64(ms.error)), n - 1, (n - 1) * (k - 1), k)


def _of_ratio(ratio: float, df1: int, df2: int, k: int) -> Interval:
    low = ratio / stats.f.ppf(1 - TAIL, df1, df2)
    high = ratio * stats.f.ppf(1 - TAIL, df2, df1)
    return Interval(_single(ratio, k), _single(low, k), _single(high, k))


def _single(ratio: float, k: int) -> float:
    """Return (F - 1) / (F + k - 1); 1 where nothing but the targets differs."""
    return 1.0 if np.isposinf(ratio) else float((ratio - 1) / (ratio + k - 1))


def _two_way(ms: MeanSquares) -> Interval:
    n, k = ms.targets, ms.observers
    bms, jms, ems = (np.float64(value) for value in (ms.between, ms.judges, ms.error))
    value = (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n)
    a = k * value / (n * (1 - value))
    b = 1 + k * value * (n - 1) / (n * (1 - value))
    df = (a * jms + b * ems) ** 2 / ((a * jms) ** 2 / (k - 1) + (b * ems) ** 2 / ((n - 1) * (k - 1)))
    if not np.isfinite(df):
        return Interval(float(value), float(value), float(value))
    upper, lower = stats.f.ppf(1 - TAIL, n - 1, df), stats.f.ppf(1 - TAIL, df, n - 1)
    rest = k * jms + (n * k - k - n) * ems
    low = n * (bms - upper * ems) / (upper * rest + n * bms)
    high = n * (lower * bms - ems) / (rest + n * lower * bms)
    return Interval(float(value), float(low), float(high))


def _averaged(single: Interval, k: int) -> Interval:
    """Return the correlation of the mean of k observers (Spearman-Brown)."""

    def stepped(r: float) -> float:
        return k * r / (1 + (k - 1) * r) if 1 + (k - 1) * r > 0 else float("-inf")

    return Interval(stepped(single.value), stepped(single.low), stepped(single.high))
