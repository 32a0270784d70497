"""Agreement of decisions beyond chance: Cohen's kappa, weighted or not, and Fleiss' for many observers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.exercise.refusal import ExerciseError
from radlength.uncertainty.budget import Z95

FloatArray = NDArray[np.float64]
Weights = Literal["none", "linear", "squared"]
ENOUGH = 30
"""Decisions from which on an asymptotic interval is told. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement beyond chance.

    Parameters
    ----------
    value
        1 is full agreement, 0 what chance gives. NaN where everybody always chose the same.
    error
        Its asymptotic standard error.
    n
        Number of decisions.
    """

    value: float
    error: float
    n: int

    @property
    def rough(self) -> bool:
        """Whether there are too few decisions for the interval to mean anything."""
        return self.n < ENOUGH

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval, not under -1."""
        return max(self.value - Z95 * self.error, -1.0)

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval, not over 1."""
        return min(self.value + Z95 * self.error, 1.0)


def choice_table(first: Sequence[str], second: Sequence[str], choices: Sequence[str]) -> FloatArray:
    """Return how often each pair of choices came, shape (C, C), rows the first observer's."""
    place = {choice: at for at, choice in enumerate(choices)}
    table = np.zeros((len(choices), len(choices)))
    for one, other in zip(first, second, strict=True):
        table[place[one], place[other]] += 1
    return table


def cohens_kappa(table: ArrayLike, *, weights: Weights = "none") -> Kappa:
    """Return Cohen's kappa of a table of counts.

    Parameters
    ----------
    table
        Shape (C, C): rows the choices of one observer, columns those of the other, in the same order.
    weights
        ``"none"``: a miss is a miss. ``"linear"``, ``"squared"``: a miss counts by its distance on the list.

    Raises
    ------
    ExerciseError
        Not a square table of counts, or an empty one.

    Notes
    -----
    Cohen 1960 and 1968; standard error by Fleiss, Cohen & Everitt, Psychol Bull 1969; 72: 323-7.

    Examples
    --------
    >>> round(cohens_kappa([[20, 5], [10, 15]]).value, 4)
    0.4
    """
    counts = np.asarray(table, dtype=np.float64)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or counts.sum() <= 0 or np.any(counts < 0):
        raise ExerciseError(
            f"a table of shape {counts.shape}", "a square table of counts, not empty", code="kappa-table"
        )
    n = float(counts.sum())
    p = counts / n
    rows, columns = p.sum(axis=1), p.sum(axis=0)
    w = _weights(len(p), weights)
    seen, chance = float((w * p).sum()), float(rows @ w @ columns)
    if 1 - chance < 1e-12:
        return Kappa(float("nan"), float("nan"), round(n))
    value = (seen - chance) / (1 - chance)
    mean = (w @ columns)[:, None] + (rows @ w)[None, :]
    spread = float((p * (w - mean * (1 - value)) ** 2).sum())
    variance = (spread - (value - chance * (1 - value)) ** 2) / (n * (1 - chance) ** 2)
    return Kappa(value, math.sqrt(max(variance, 0.0)), round(n))


def _weights(size: int, weights: Weights) -> FloatArray:
    away = np.abs(np.subtract.outer(np.arange(size), np.arange(size))) / max(size - 1, 1)
    if weights == "none":
        return np.eye(size)
    return np.asarray(1 - (away if weights == "linear" else away**2))


def fleiss_kappa(counts: ArrayLike) -> float:
    """Return Fleiss' kappa of many observers who each decide on every subject.

    Parameters
    ----------
    counts
        Shape (N, C): how many observers made each choice for each subject; every row has the same sum, 2 or more.

    Returns
    -------
    float
        NaN where everybody always chose the same.

    Raises
    ------
    ExerciseError
        Rows with different sums, or fewer than two observers.

    Notes
    -----
    Fleiss, Psychol Bull 1971; 76: 378-82.
    """
    table = np.asarray(counts, dtype=np.float64)
    if table.ndim != 2 or not len(table) or len(set(table.sum(axis=1).tolist())) != 1 or table[0].sum() < 2:
        raise ExerciseError(
            "not every subject was decided on by the same number of observers",
            "two observers or more, each on every subject",
            code="kappa-table",
        )
    n = float(table[0].sum())
    seen = float(((table**2).sum(axis=1) - n).mean() / (n * (n - 1)))
    chance = float(((table.sum(axis=0) / table.sum()) ** 2).sum())
    return float("nan") if 1 - chance < 1e-12 else (seen - chance) / (1 - chance)
