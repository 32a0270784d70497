"""Another line of metal beside a found instrument: along how much of it one is seen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, ROW_MM, WIDE_ACROSS_MM
from radlength.tracing.metal import heights
from radlength.tracing.strip import last_part, strip_along

FloatArray = NDArray[np.float64]

BACK_MM = 12.0
"""How far before the tip another line is looked for."""
SHARE = 0.5
"""It stands out at least this much of the instrument itself."""
APART_MM = 0.15
LEAST_ROWS = 20
"""It is seen along 3 mm and more."""
JUMP_MM = 0.15


def second_mm(grey: NDArray[np.generic], line_mm: FloatArray, side_mm: FloatArray) -> float:
    """Return along how much of an instrument's last millimetres another line of metal is seen within 1.5 mm.

    Parameters
    ----------
    grey
        Grey values, metal bright, shape (rows, columns).
    line_mm
        (row, column) points of the instrument, the last one its tip, shape (N, 2).
    side_mm
        (row, column) size of a pixel.
    """
    points = last_part(line_mm, BACK_MM, FINE_MM)
    points = points[(len(points) - 1) % EVERY :]
    if len(points) < EVERY * LEAST_ROWS:
        return 0.0
    height = heights(strip_along(grey, points, WIDE_ACROSS_MM, side_mm)).height
    own = float(np.median(height[:, np.abs(ACROSS_MM) < APART_MM].max(axis=1)))
    if own <= 0:
        return 0.0
    return max(_beside(height * side, own) for side in (ACROSS_MM > APART_MM, ACROSS_MM < -APART_MM))


def _beside(height: NDArray[np.generic], own: float) -> float:
    """Return the length of the lines on one side that are long enough."""
    place = ACROSS_MM[height.argmax(axis=1)]
    seen = height.max(axis=1) > SHARE * own
    breaks = ~seen[1:] | ~seen[:-1] | (np.abs(np.diff(place)) > JUMP_MM)
    runs = np.diff(np.flatnonzero(np.concatenate([[True], breaks, [True]])))
    return float(runs[runs >= LEAST_ROWS].sum() * ROW_MM)
