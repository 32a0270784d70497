"""What is left over, block by block, after one image is laid on another."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates, spline_filter

from radlength.shape.contrast import Even

FloatArray = NDArray[np.float64]
ACROSS = 10
"""Blocks along the longer side."""

SMALLEST_PX = 70
SMOOTH_PX = 2.0
LEAST_TEXTURE = 0.3
"""Root mean square of even contrast below which a block has nothing to be found by."""

ALIKE = 0.35
"""Correlation from which a block counts as found again."""

REACH_PX = 8.0
"""Largest shift that is looked for."""

NOISE = 3.0
"""Noise of neighbouring pixels of smoothed images goes together: by how much it exceeds that of independent ones, as
found on pairs whose map is known."""

_STEPS = 12
_TUKEY = 4.685


@dataclass(frozen=True, slots=True)
class Blocks:
    """The blocks of the first image that were found again.

    Parameters
    ----------
    places_px
        Their middles, (row, column), shape (N, 2).
    shifts_px
        The shift left over in each, (row, column), shape (N, 2).
    noise_px
        What noise alone may do to each, shape (N,).
    found_share
        Their share of all blocks with texture.
    """

    places_px: FloatArray
    shifts_px: FloatArray
    noise_px: FloatArray
    found_share: float

    @property
    def left_px(self) -> FloatArray:
        """Length of the shift in each block beyond what noise explains, shape (N,)."""
        squares = np.sum(self.shifts_px**2, axis=1) - self.noise_px**2
        return np.asarray(np.sqrt(np.maximum(squares, 0.0)))


def block_shifts(
    first: Even, second: Even, matrix: FloatArray, *, ignore: NDArray[np.bool_] | None
) -> Blocks:
    """Return the shift that is left over in every block.

    Parameters
    ----------
    first, second
        Images of even contrast.
    matrix
        From (column, row, 1) of the first to the second, shape (3, 3).
    ignore
        Places of the first image that changed.

    Notes
    -----
    Two numbers a block by Gauss-Newton with Tukey's weights (all blocks at once), so that what changed inside a block
    does not pull it.
    """
    size, cubic = first.shape[::-1], cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    laid = cv2.warpPerspective(second, matrix, size, flags=cubic, borderMode=cv2.BORDER_CONSTANT)
    seen = cv2.warpPerspective(np.ones(second.shape, np.float32), matrix, size, flags=cubic) > 0.99
    if ignore is not None:
        seen &= ~ignore
    ours, theirs = gaussian_filter(first, SMOOTH_PX), gaussian_filter(laid, SMOOTH_PX)
    rows, columns, block, middles = _sampled(ours, cv2.erode(seen.astype(np.uint8), np.ones((9, 9))) > 0)
    if not len(middles):
        return Blocks(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), 0.0)
    shifts, alike, noise = _solved(ours, theirs, rows, columns, block, len(middles))
    good = (alike >= ALIKE) & (np.hypot(*shifts.T) < REACH_PX)
    return Blocks(middles[good], shifts[good], noise[good], float(good.mean()))


def _sampled(
    image: Even, seen: NDArray[np.bool_]
) -> tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_], FloatArray]:
    """Return rows, columns and block numbers of every second pixel in blocks with texture, and the blocks' middles."""
    side = max(SMALLEST_PX, max(image.shape) // ACROSS)
    rows: list[Any] = []
    columns: list[Any] = []
    numbers: list[Any] = []
    middles: list[tuple[float, float]] = []
    for top in range(0, image.shape[0] - side + 1, side):
        for left in range(0, image.shape[1] - side + 1, side):
            inside = seen[top : top + side, left : left + side]
            if (
                inside.mean() < 0.6
                or image[top : top + side, left : left + side][inside].std() < LEAST_TEXTURE
            ):
                continue
            down, across = np.nonzero(inside[::2, ::2])
            rows.append(top + 2 * down)
            columns.append(left + 2 * across)
            numbers.append(np.full(len(down), len(middles)))
            middles.append((top + (side - 1) / 2, left + (side - 1) / 2))
    if not middles:
        nothing = np.zeros(0, dtype=int)
        return nothing, nothing, nothing, np.zeros((0, 2))
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(numbers), np.array(middles)


def _solved(
    ours: Even,
    theirs: Even,
    rows: NDArray[np.int_],
    columns: NDArray[np.int_],
    block: NDArray[np.int_],
    count: int,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (down, across) for every block, how alike it is there, and what noise alone may do to it."""
    wanted = ours[rows, columns].astype(np.float64)
    splines = [spline_filter(part, order=3) for part in (theirs, *np.gradient(theirs))]
    shifts = np.zeros((count, 2))
    weight = np.ones(len(wanted))
    alike, noise = np.zeros(count), np.zeros(count)
    for _ in range(_STEPS):
        at = np.stack([rows + shifts[block, 0], columns + shifts[block, 1]])
        grey, down, across = (
            map_coordinates(s, at, order=3, prefilter=False, mode="nearest") for s in splines
        )
        alike = _correlation(wanted, grey, weight, block, count)
        gain = _summed(weight * wanted * grey, block, count) / (
            _summed(weight * grey**2, block, count) + 1e-9
        )
        left = wanted - gain[block] * grey
        spread = 1.4826 * _medians(np.abs(left), block, count) + 1e-6
        weight = (1 - np.clip(np.abs(left) / (_TUKEY * spread[block]), 0, 1) ** 2) ** 2
        slope = np.stack([down, across]) * gain[block]
        a, b, c = (_summed(weight * slope[i] * slope[j], block, count) for i, j in ((0, 0), (0, 1), (1, 1)))
        p, q = (_summed(weight * slope[i] * left, block, count) for i in (0, 1))
        whole = np.maximum(a * c - b * b, 1e-9)
        noise = NOISE * spread * np.sqrt((a + c) / whole)
        step = np.column_stack([(c * p - b * q) / whole, (a * q - b * p) / whole])
        shifts = shifts + np.clip(step, -2, 2)
        if np.abs(step).max() < 1e-3:
            break
    return shifts, alike, noise


def _correlation(
    one: FloatArray, other: FloatArray, weight: FloatArray, block: NDArray[np.int_], count: int
) -> FloatArray:
    total = _summed(weight, block, count) + 1e-9
    a = one - (_summed(weight * one, block, count) / total)[block]
    b = other - (_summed(weight * other, block, count) / total)[block]
    both, ours, theirs = (_summed(weight * x, block, count) for x in (a * b, a * a, b * b))
    return np.asarray(both / np.sqrt(np.maximum(ours * theirs, 1e-12)))


def _summed(values: FloatArray, block: NDArray[np.int_], count: int) -> FloatArray:
    return np.bincount(block, values, minlength=count).astype(np.float64)


def _medians(values: FloatArray, block: NDArray[np.int_], count: int) -> FloatArray:
    ends = np.searchsorted(block, np.arange(count + 1))
    return np.array([np.median(values[a:b]) for a, b in pairwise(ends)])
