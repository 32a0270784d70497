"""What hangs together with a click and is one long run of pixels, with ticks at its ends or none. Knows no length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

TOLERANCE, LEAST_TOLERANCE = 0.25, 8.0
"""Grey of one bar: within this part of the contrast round the click."""
AROUND_PX, SNAP_PX = 60, 3
LONG_SHARE = 0.9
"""Rows of the bar itself are filled to this part of its length."""
TICK_SHARE = 0.05
"""Ticks lie within this part of the length from an end, or within one thickness and a little."""
STRAY_SHARE = 0.03
"""Pixels elsewhere, as a part of the bar's own."""
BESIDE, MARGIN = 0.3, 0.75
"""A click on less than the first part of the clearest step near it lies beside what is meant, on less than the second
part of the clearest one to its own side of grey on its margin: a thin outline may be clearer than the bar."""
PIECE_SHARE, LEAST_PIECE_PX, ASIDE_PX = 0.2, 8, 2
"""A further piece of a bar is this part of its length; beside its rows, so far off, grey is another."""
PIECE_STEP, PIECE_NOISE = 0.1, 4.0
"""By this part of the bar's own step, as of black and white pieces by turns one stands out less, and by this many times
what changes from pixel to pixel."""
PIECE_REACH = 3
"""So many lengths from an end."""


@dataclass(frozen=True, slots=True)
class Part:
    """A run of pixels: rows `top` to `bottom`, columns `start` to `stop` (ends left out), and which ends have ticks."""

    top: int
    bottom: int
    start: int
    stop: int
    left_tick: bool
    right_tick: bool

    @property
    def length(self) -> int:
        """Pixels along."""
        return self.stop - self.start

    @property
    def thickness(self) -> int:
        """Pixels across."""
        return self.bottom - self.top


def part_at(grey: NDArray[np.generic], click: FloatArray) -> Part | None:
    """Return the run along the rows at a click, or None where there is none.

    Parameters
    ----------
    grey
        Grey values, shape (rows, columns).
    click
        (row, column) pixels on the image.
    """
    row, column, tolerance = _seed(grey, click)
    return _part(*_alike(grey, row, column, tolerance))


def other_half(grey: NDArray[np.generic], part: Part) -> Part | None:
    """Return the mirrored part of a bar with one tick, in the same rows beyond its open end, or None."""
    way = 1 if part.left_tick else -1
    edge = part.stop if way > 0 else part.start - 1
    row = (part.top + part.bottom - 1) // 2
    own = grey[row].astype(np.float64)
    level = float(np.median(own[part.start : part.stop]))
    reach = 2 * part.length
    line = own[edge : edge + reach] if way > 0 else own[max(edge - reach, 0) : edge + 1][::-1]
    tolerance = max(TOLERANCE * float(np.ptp(line)) if line.size else 0.0, LEAST_TOLERANCE)
    for step in np.flatnonzero(np.abs(line - level) <= tolerance):
        column = edge + way * int(step)
        other = _part(*_alike(grey, row, column, tolerance))
        if other is not None and other.length > 0.5 * part.length:
            mirrored = (other.left_tick, other.right_tick) == (part.right_tick, part.left_tick)
            same = abs(other.top - part.top) <= 1 and abs(other.bottom - part.bottom) <= 1
            return other if mirrored and same and other.length < 2 * part.length else None
    return None


def goes_on(grey: NDArray[np.generic], part: Part, way: int) -> bool:
    """Return whether another piece of a bar follows in the same rows beyond an end, of the bar's grey or of another.

    Parameters
    ----------
    grey
        Grey values, shape (rows, columns).
    part
        The run.
    way
        -1 for its left end, 1 for its right end.
    """
    beside = [row for row in (part.top - ASIDE_PX, part.bottom - 1 + ASIDE_PX) if 0 <= row < grey.shape[0]]
    if not beside:
        return False
    own = grey[part.top : part.bottom].mean(axis=0, dtype=np.float64)
    over = own - grey[beside].astype(np.float64)
    step = float(np.median(np.abs(over[:, part.start : part.stop])))
    reach = PIECE_REACH * part.length
    beyond = slice(part.stop, part.stop + reach) if way > 0 else slice(max(part.start - reach, 0), part.start)
    least = max(part.thickness, round(PIECE_SHARE * part.length), LEAST_PIECE_PX)
    over = over[:, beyond]
    if over.shape[1] < least:
        return False
    enough = max(PIECE_STEP * step, PIECE_NOISE * float(np.median(np.abs(np.diff(over, axis=1)))))
    return any(_longest(np.all(sign * over > enough, axis=0)) >= least for sign in (-1, 1))


def _longest(true: NDArray[np.bool_]) -> int:
    """Return the length of the longest run that is true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def _seed(grey: NDArray[np.generic], click: FloatArray) -> tuple[int, int, float]:
    """Return the pixel near a click whose grey differs most from what is usual around, and the tolerance."""
    row, column = (round(float(at)) for at in click)
    top, left = max(row - AROUND_PX, 0), max(column - AROUND_PX, 0)
    around = grey[top : row + AROUND_PX + 1, left : column + AROUND_PX + 1].astype(np.float64)
    top, left = max(row - SNAP_PX, 0), max(column - SNAP_PX, 0)
    near = grey[top : row + SNAP_PX + 1, left : column + SNAP_PX + 1].astype(np.float64)
    odd = near - float(np.median(around))
    own = float(odd[row - top, column - left])
    same, odd = np.maximum(np.sign(own) * odd, 0), np.abs(odd)
    if abs(own) >= BESIDE * odd.max():
        odd = same
    if abs(own) < MARGIN * odd.max():
        at = np.unravel_index(int(odd.argmax()), odd.shape)
        row, column = top + int(at[0]), left + int(at[1])
    return row, column, max(TOLERANCE * float(np.ptp(around)), LEAST_TOLERANCE)


def _alike(
    grey: NDArray[np.generic], row: int, column: int, tolerance: float
) -> tuple[NDArray[np.bool_], int, int]:
    """Return what hangs together with a pixel and has its grey, cut to its box, and the box's first row and column."""
    import cv2  # noqa: PLC0415

    seed = float(grey[row, column])
    inner = np.ascontiguousarray(np.abs(grey.astype(np.float32) - seed) <= tolerance, dtype=np.uint8)
    mask = np.zeros((grey.shape[0] + 2, grey.shape[1] + 2), np.uint8)
    left, top, width, height = cv2.floodFill(inner, mask, (column, row), 2)[3]
    return np.asarray(inner[top : top + height, left : left + width] == 2), top, left


def _part(mask: NDArray[np.bool_], top: int, left: int) -> Part | None:
    height, length = mask.shape
    full = np.flatnonzero(mask.mean(axis=1) >= LONG_SHARE)
    if not full.size or full[-1] - full[0] + 1 != full.size:
        return None
    thick = full.size
    rest = mask.copy()
    rest[max(full[0] - 1, 0) : full[-1] + 2] = False
    near = max(round(TICK_SHARE * length), thick + 2)
    if rest[:, near : length - near].sum() > STRAY_SHARE * thick * length:
        return None
    sides = [bool(side.sum() >= max(thick, 2)) for side in (rest[:, :near], rest[:, length - near :])]
    ticked = height > thick + 2
    return Part(
        int(top + full[0]),
        int(top + full[-1] + 1),
        left,
        left + length,
        ticked and sides[0],
        ticked and sides[1],
    )
