"""Medians and quantiles of small tables, by sorting them whole.

NumPy's own look for several places at once, which takes ten times as long as to sort rows of some dozen values.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float32]
FloatArray = NDArray[np.float64]
Single = TypeVar("Single", np.float32, np.float64)


def quantile(values: FloatArray, share: float) -> float:
    """Return the value below which that share of some values, shape (N,), lies, between two by their distance.

    Examples
    --------
    >>> quantile(np.array([3.0, 1.0, 2.0]), 0.25)
    1.5
    """
    return float(quantiles_of_rows(values[None], share)[0])


def median(values: Table | FloatArray) -> float:
    """Return the median of all values of a table; of an even number, the mean of both in the middle.

    Examples
    --------
    >>> median(np.array([[3, 1], [2, 8]], np.float32))
    2.5
    """
    ordered = np.sort(values, axis=None)
    return float((ordered[(ordered.size - 1) // 2] + ordered[ordered.size // 2]) / 2)


def quantiles_of_rows(values: NDArray[Single], share: float) -> NDArray[Single]:
    """Return the value below which that share of each row lies, between two values by their distance, shape (rows,).

    Examples
    --------
    >>> quantiles_of_rows(np.array([[3, 1, 2], [8, 6, 7]], np.float32), 0.25).tolist()
    [1.5, 6.5]
    """
    ordered = np.sort(values, axis=1)
    low, part = divmod(share * (ordered.shape[1] - 1), 1)
    lower = ordered[:, int(low)]
    upper = ordered[:, min(int(low) + 1, ordered.shape[1] - 1)]
    return np.asarray(lower + part * (upper - lower), dtype=values.dtype)
