"""A line of metal that suddenly narrows toward its tip, as two do that lie on one another where one of them ends.

Knows no instrument: a straightened strip comes in, a distance goes out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import last_part, steps, strip_along

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
HALF_MM, CORE_MM, BACKGROUND_MM = 0.8, 0.07, 0.55
"""Half width of the strip; what is the middle of the line, and what lies beside it."""
TIP_MM = (0.3, 0.1)
"""From where to where before the tip it is seen how wide the line is there: a round point ends after that."""
BEFORE_MM = ((0.8, 0.5), (1.1, 0.8), (1.5, 1.1))
"""And before: a taper makes it wider by less than 0.05 mm on each side."""


def narrows_mm(grey: NDArray[np.generic], axis_mm: FloatArray, side_mm: FloatArray) -> float:
    """Return by how much one side of a line comes nearer to its axis within its last millimetre, 0 for a short line.

    Parameters
    ----------
    grey
        Grey values, metal bright, shape (rows, columns).
    axis_mm
        (row, column) points of the line, the last one its tip, shape (N, 2).
    side_mm
        (row, column) size of a pixel.
    """
    points = last_part(axis_mm, BEFORE_MM[-1][0], STEP_MM)
    if len(points) * STEP_MM < BEFORE_MM[0][0]:
        return 0.0
    strip = strip_along(grey, points, steps(-HALF_MM, HALF_MM, STEP_MM), side_mm)
    before = [_edges(_part(strip, one)) for one in BEFORE_MM if len(points) * STEP_MM > one[0]]
    return float((np.max(before, axis=0) - _edges(_part(strip, TIP_MM))).max())


def _part(strip: NDArray[np.generic], away_mm: tuple[float, float]) -> FloatArray:
    """Return the mean profile across of a part of the strip, by how far from its end."""
    first, last = (len(strip) - 1 - round(away / STEP_MM) for away in away_mm)
    return np.asarray(strip[first:last].mean(axis=0), dtype=np.float64)


def _edges(profile: FloatArray) -> FloatArray:
    """Return how far on both sides of its middle a profile falls to half of its height, shape (2,)."""
    across = steps(-HALF_MM, HALF_MM, STEP_MM)
    height = profile - np.median(profile[np.abs(across) > BACKGROUND_MM])
    low = height <= height[np.abs(across) < CORE_MM].mean() / 2
    low[[0, -1]] = True
    middle = len(low) // 2
    return STEP_MM * np.array([low[middle::-1].argmax(), low[middle:].argmax()])
