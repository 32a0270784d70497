"""A line that goes on at an angle from where an end was found, as an instrument does that bends sharply near its tip.

Knows no instrument. The axis of the last millimetres is a parabola, which leaves such a bend: no tip is where it ends.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.edge import STEP_MM, matched
from radlength.tracing.instrument_axis import ROW_MM
from radlength.tracing.strip import steps, strip_along
from radlength.tracing.tip import HALF_MM, End

FloatArray = NDArray[np.float64]

TURNS_DEG = tuple(side * turn for turn in range(25, 106, 10) for side in (-1, 1))
"""Turns looked at: less is the line itself, more runs back along it."""
FROM_MM = (0.0, 0.15)
"""How far before the end the other line may leave."""
LOOK_MM = (0.2, 0.5)
"""The part of it that is looked at, from there."""
WIDEST_MM = 0.15
"""A line of at least this width (SD) reaches to where is looked, by the sides of its own end."""
OWN_MM = (1.1, 0.3)
"""The part of the line before its end that its height is told from."""


def goes_on_aside(grey: NDArray[np.generic], end: End, side_mm: FloatArray) -> float:
    """Return how high a line stands that goes on at an angle from an end, as a share of the line's own height.

    Parameters
    ----------
    grey
        Grey values, the line bright, shape (rows, columns).
    end
        The end.
    side_mm
        (row, column) size of a pixel.

    Notes
    -----
    0 for a line too thick to tell.
    """
    if end.width_mm >= WIDEST_MM:
        return 0.0
    across = steps(-HALF_MM, HALF_MM, STEP_MM)
    shape = matched(across, end.width_mm)
    count = len(end.axis_mm)
    first, last = (max(count - 1 - round(part / ROW_MM), 0) for part in OWN_MM)
    if last - first < 2:
        return 0.0
    own = float(np.median(strip_along(grey, end.axis_mm[first : last + 1], across, side_mm) @ shape))
    if own <= 0:
        return 0.0
    along = end.along
    aside = np.array([-along[1], along[0]])
    places = steps(*LOOK_MM, 0.05)[:, None]
    heights = [
        (strip_along(grey, end.point_mm - back * along + places * way, across, side_mm) @ shape).mean()
        for turn in np.radians(TURNS_DEG)
        for way in (np.cos(turn) * along + np.sin(turn) * aside,)
        for back in FROM_MM
    ]
    return float(max(max(heights) / own, 0.0))
