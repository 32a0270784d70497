"""How far a line runs from the middle of its root in the last millimetres: a canal keeps to it where its root bends.

Each side of the root falls off to the membrane and the bone beside it. Two roots that lie on one another put the middle
beside a canal all along; so what counts is how far it lies off against what it does higher up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import EVERY, FINE_MM, WIDE_ACROSS_MM, Strip
from radlength.tracing.filters import ALONG_MM, smooth_along

FloatArray = NDArray[np.float64]

REACH = np.arange(8, 49)
"""Where beside the line a side of the root is looked for, in steps of 0.05 mm: 0.4 to 2.4 mm."""
EDGE_MM = 0.2
"""Sigma of what answers to a side of the root."""
MOST = 6.0
"""Fall of grey a millimetre at a side, in units of what goes on around, beyond which it says no more."""
JUMP, COST = 3, 0.3
"""Steps by which a side may come nearer or go away from one row to the next, and what each of them costs."""
ROWS, HIGHER, ROOT_ENDS = 34, 8, 4
"""Rows at the end that are looked at, 5 mm; those of them that tell where the middle lies higher up; and those where
the root ends."""
SEEN = 0.5
"""Mean fall of the less plain side, where the root shows."""


@dataclass(frozen=True, slots=True, eq=False)
class Middle:
    """Where the middle of the root lies beside a line, in its last `ROWS` rows.

    Parameters
    ----------
    off_mm
        How far across from the line it lies, less what is usual there: as higher up, and nothing at the apex, where
        the line is held by the click of a person. Shape (ROWS,).
    plain
        How plain the less plain side of the root is, shape (ROWS,).
    """

    off_mm: FloatArray
    plain: FloatArray

    def off_along_mm(self, rows: NDArray[np.bool_]) -> float | None:
        """Return how far it lies from some rows of the line, on average, or ``None`` where no root shows.

        Parameters
        ----------
        rows
            Which of all rows of the line, shape (rows,).
        """
        asked = rows[-ROWS:].copy()
        asked[-ROOT_ENDS:] = False
        if not asked.any() or self.plain[asked].mean() < SEEN:
            return None
        return float(abs(self.off_mm[asked].mean()))


def middle_beside(strip: Strip, across_mm: FloatArray, around: FloatArray) -> Middle | None:
    """Return where the middle of the root lies beside a line, ``None`` for a line that is too short.

    Parameters
    ----------
    strip
        The strip of the image, roots bright, shape (3 k + 1, 121).
    across_mm
        Place of the line across it at every row of the evidence, shape (k + 1,).
    around
        How much goes on around each row, grey values, shape (k + 1,).
    """
    if len(across_mm) < ROWS:
        return None
    falls = _falls(strip, across_mm) / around[-ROWS:, None]
    steepest = np.maximum(np.median(falls.max(axis=2), axis=1), MOST)
    falls *= (MOST / steepest)[:, None, None]
    left, right = (_side(fall) for fall in falls)
    number = np.arange(ROWS)
    middle = (REACH[right] - REACH[left]) * FINE_MM / 2
    higher = float(np.median(middle[:HIGHER]))
    usual = np.interp(number, [(HIGHER - 1) / 2, ROWS - 1], [higher, 0.0])
    return Middle(middle - usual, np.minimum(falls[0][number, left], falls[1][number, right]))


def _falls(strip: Strip, across_mm: FloatArray) -> FloatArray:
    """Return how steeply grey falls away from a line on its left and its right, shape (2, ROWS, reaches)."""
    import cv2  # noqa: PLC0415

    rows = smooth_along(strip, ALONG_MM)[::EVERY][-ROWS:]
    slope = cv2.sepFilter2D(rows, -1, _slope(), np.ones(1, dtype=np.float32))
    column = np.rint((across_mm[-ROWS:, None] - WIDE_ACROSS_MM[0]) / FINE_MM).astype(np.intp)
    return np.stack(
        [
            -side * np.take_along_axis(slope, np.clip(column + side * REACH, 0, slope.shape[1] - 1), axis=1)
            for side in (-1, 1)
        ]
    ).astype(np.float64)


def _side(fall: FloatArray) -> NDArray[np.intp]:
    """Return the likeliest side of the root, a number of `REACH` at every row: the steepest that is connected.

    Dynamic programming from row to row (Viterbi's; Rabiner 1989, Proceedings of the IEEE 77(2), eq. 30 to 35).
    """
    count = fall.shape[1]
    from_to = np.subtract.outer(np.arange(count), np.arange(count))
    change = np.where(np.abs(from_to) <= JUMP, -COST * np.abs(from_to), -np.inf)
    best, back = fall[0], np.zeros(fall.shape, dtype=np.intp)
    for row in range(1, len(fall)):
        ways = best[:, None] + change
        back[row] = ways.argmax(axis=0)
        best = ways.max(axis=0) + fall[row]
    side = np.full(len(fall), best.argmax(), dtype=np.intp)
    for row in range(len(fall) - 1, 0, -1):
        side[row - 1] = back[row][side[row]]
    return side


@cache
def _slope() -> NDArray[np.float32]:
    """Return weights that answer the change of grey a millimetre: the derivative of a Gaussian."""
    reach = round(4 * EDGE_MM / FINE_MM)
    x = np.arange(-reach, reach + 1) * FINE_MM
    weights = x * np.exp(-0.5 * (x / EDGE_MM) ** 2)
    return np.asarray(weights / (weights @ x), dtype=np.float32)
