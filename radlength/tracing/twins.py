"""Two lines of metal that run so close together near a tip that they nearly look like one.

Knows no instrument: a straightened strip comes in, a distance goes out.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import last_part, steps, strip_along

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
HALF_MM = 1.0
WINDOW_MM, WINDOWS = 0.5, 5
"""Parts of the line before its tip that are looked at, each by its mean profile across."""
SHARP_MM = 0.03
REACH_MM = 0.5
BACKGROUND_MM = 0.6
"""What lies further from the line than this is its background."""
SHARE, DIP = 0.5, 0.15
"""The other line stands out at least this much of the first, and the grey between them falls by this much of it."""
STEADY_MM = 0.06
"""It is seen as far off in the next part."""


def twin_mm(grey: NDArray[np.generic], axis_mm: FloatArray, side_mm: FloatArray) -> float:
    """Return how far beside a line's last millimetres another one runs, 0 where none is seen in two parts on end.

    Parameters
    ----------
    grey
        Grey values, metal bright, shape (rows, columns).
    axis_mm
        (row, column) points of the line, the last one its tip, shape (N, 2).
    side_mm
        (row, column) size of a pixel.
    """
    rows = round(WINDOW_MM / STEP_MM)
    points = last_part(axis_mm, WINDOWS * WINDOW_MM, STEP_MM)[:-1]
    count = len(points) // rows
    if count < 2:
        return 0.0
    across = steps(-HALF_MM, HALF_MM, STEP_MM)
    parts = strip_along(grey, points[-count * rows :], across, side_mm).reshape(count, rows, -1).mean(axis=1)
    away = [_other(part, across) for part in parts]
    steady = [second for first, second in pairwise(away) if first and second and _like(first, second)]
    return steady[-1] if steady else 0.0


def _like(first: float, second: float) -> bool:
    return abs(first - second) < STEADY_MM


def _other(profile: FloatArray, across: FloatArray) -> float:
    """Return the distance of the other top of a profile that is clearest set off from the middle one, 0 for none."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    smooth = gaussian_filter1d(profile.astype(np.float64), SHARP_MM / STEP_MM)
    smooth -= np.median(smooth[np.abs(across) > BACKGROUND_MM])
    tops = np.flatnonzero((smooth[1:-1] >= smooth[:-2]) & (smooth[1:-1] > smooth[2:])) + 1
    tops = tops[np.abs(across[tops]) <= REACH_MM]
    if len(tops) < 2:
        return 0.0
    own = tops[np.abs(across[tops]).argmin()]
    best, where = DIP * smooth[own], 0.0
    for top in tops[(tops != own) & (smooth[tops] > SHARE * smooth[own])]:
        dip = min(smooth[top], smooth[own]) - smooth[min(top, own) : max(top, own)].min()
        if smooth[own] > 0 and dip > best:
            best, where = float(dip), float(abs(across[top] - across[own]))
    return where
