"""A canal as wide as that of an immature root: between two walls that are brighter than it and than all beside them.

Filters for lines look for canals up to 1 mm wide. In a wider one they see its walls, and its middle is anywhere. A root
lets most rays through where the canal's edge is passed, so each wall is brightest at the canal; beyond it grey falls
towards bone. Bone between two roots has walls too, but beyond them the roots go on; and where they are slender and
end soon, it is darker than what lies beyond them, while before and behind a canal there is dentine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, FINE_MM, ROW_MM, WIDE_ACROSS_MM
from radlength.tracing.crown import crown_share
from radlength.tracing.filters import Table

FloatArray = NDArray[np.float64]

HALVES = range(12, 39, 3)
"""Half widths of canals looked for, in steps of 0.05 mm: 0.6 to 1.8 mm."""
INSIDE = 0.6
"""Part of a half width, from the middle, that is taken to be inside."""
BEYOND = (14, 30)
"""Steps from a wall on between which grey beyond it is averaged, as far as the strip goes."""
ACROSS = 2.0
"""SD of smoothing across, steps: 0.1 mm."""
REACH = 16
"""Steps from the middle of the corridor within which it is told whether a canal is wide."""
SOME = 3
"""Every third row tells it."""
LEAST_HALF_MM = 0.8
"""Median half width in the root, below which other filters do."""
LEAST_HEIGHT, LEAST_BEYOND, LEAST_SHARE = 0.7, 0.7, 0.65
"""How much the lower wall stands out over the canal along three quarters of the root, and over what lies beyond,
median, in units of what goes on around; and in what part of the root it does over what lies beyond at all. Nine in ten
open canals of development images reach 0.86, 1.0 and 0.68; clicks beside roots seldom the second and third."""
DARKER = 0.75
"""How much darker than what lies beyond its walls a canal is at most, median, in the same units. Open canals of
development images are so by 0.41 at most; drawn bone between slender roots by 1.1 and more, but not always between
roots less than 2 mm wide, which look like walls."""
LEAST_MM = 4.0
"""Length of root below which nothing is said."""
LAST_ROWS = 6
"""Rows at the far end, where a wide root ends."""
WEIGHT = 1.6
"""As much as a clear dark canal."""
CROWN_SHARE = 1 / 3


@dataclass(frozen=True, slots=True, eq=False)
class OpenCanal:
    """A wide canal in a corridor.

    Parameters
    ----------
    rows
        Where both its walls are seen, shape (rows,).
    weight
        What speaks for each place as its middle, shape (rows, 61).
    height
        How much the lower wall stands out over the canal, in units of what goes on around, shape (rows, 61).
    one_sided
        Difference of both walls, in heights, shape (rows, 61).
    beyond
        How much brighter it is beyond its walls than at them, in units of what goes on around, shape (rows, 61).
    """

    rows: NDArray[np.bool_]
    weight: FloatArray
    height: FloatArray
    one_sided: FloatArray
    beyond: FloatArray


def open_canal(rows: Table, around: FloatArray) -> OpenCanal | None:
    """Return the wide canal of a corridor, or ``None`` where there is none.

    Parameters
    ----------
    rows
        Rows of a strip smoothed along, shape (rows, 121), roots bright.
    around
        How much goes on around each row, grey values, shape (rows,).
    """
    smooth = _smoothed(rows)
    start = int(crown_share(len(smooth), CROWN_SHARE) * len(smooth))
    if not _open(_walls(smooth[start:-LAST_ROWS:SOME]), around[start:-LAST_ROWS:SOME]):
        return None
    walls = _walls(smooth)
    height, beyond, sides = (one / around[:, None] for one in (walls.height, walls.beyond, walls.sides))
    best = _best(walls)
    top, out = height[best], beyond[best]
    share = np.clip(height / np.maximum(top, LEAST_HEIGHT)[:, None], 0, 1)
    return OpenCanal(
        rows=(top > LEAST_HEIGHT) & (out < 0),
        weight=WEIGHT * (2 * share**2 - 1),
        height=height,
        one_sided=sides / np.maximum(height, LEAST_HEIGHT),
        beyond=beyond,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Walls:
    """What the width that fits best gives at every place as the middle, grey values, shape (rows, 61) each.

    How much the lower wall stands out over the inside, the half width (mm), how much brighter it is beyond a wall than
    at it, of both sides the more, how different the walls are, and how much darker it is inside than beyond both walls.
    """

    height: FloatArray
    half_mm: FloatArray
    beyond: FloatArray
    sides: FloatArray
    darker: FloatArray


def _open(walls: _Walls, around: FloatArray) -> bool:
    """Return whether some rows of a root say that its canal is wide."""
    if len(around) * SOME * ROW_MM < LEAST_MM:
        return False
    best = _best(walls)
    height, beyond = walls.height[best] / around, walls.beyond[best] / around
    stands = np.quantile(height, 0.25) > LEAST_HEIGHT and np.median(beyond) < -LEAST_BEYOND
    wide = np.median(walls.half_mm[best]) >= LEAST_HALF_MM
    dentine = np.median(walls.darker[best] / around) < DARKER
    return bool(stands and wide and dentine and (beyond < 0).mean() > LEAST_SHARE)


def _best(walls: _Walls) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the place of every row near the middle of the corridor where walls stand out most, as an index."""
    middle = walls.height.shape[1] // 2
    first = middle - REACH
    at = walls.height[:, first : middle + REACH + 1].argmax(axis=1) + first
    return np.arange(len(at)), at


def _smoothed(rows: Table) -> Table:
    """Return rows smoothed across."""
    import cv2  # noqa: PLC0415

    return np.asarray(
        cv2.GaussianBlur(rows, (2 * round(3 * ACROSS) + 1, 1), ACROSS, borderType=1), np.float32
    )


def _walls(smooth: Table) -> _Walls:
    """Return the walls at every place of smoothed rows, shape (rows, 121)."""
    total = np.pad(np.cumsum(smooth, axis=1, dtype=np.float64), ((0, 0), (1, 0)))
    last = len(WIDE_ACROSS_MM) - 1
    place = np.arange(len(ACROSS_MM)) + (last + 1 - len(ACROSS_MM)) // 2

    def mean(first: NDArray[np.intp], end: NDArray[np.intp]) -> FloatArray:
        first, end = np.clip(first, 0, last), np.clip(end, 0, last)
        return np.asarray((total[:, end + 1] - total[:, first]) / (end + 1 - first))

    shape = (len(smooth), len(place))
    best = _Walls(np.full(shape, -np.inf), *(np.zeros(shape) for _ in range(4)))
    for half in HALVES:
        left, right = (smooth[:, np.clip(at, 0, last)] for at in (place - half, place + half))
        inner = int(INSIDE * half)
        inside = mean(place - inner, place + inner)
        height = np.minimum(left, right) - inside
        height[:, (place < half) | (place + half > last)] = -np.inf
        near, far = (half + reach for reach in BEYOND)
        before, behind = mean(place - far, place - near), mean(place + near, place + far)
        beyond = np.maximum(before - left, behind - right)
        more = height > best.height
        for table, one in (
            (best.height, height),
            (best.half_mm, half * FINE_MM),
            (best.beyond, beyond),
            (best.sides, np.abs(left - right)),
            (best.darker, (before + behind) / 2 - inside),
        ):
            np.copyto(table, one, where=more)
    return best
