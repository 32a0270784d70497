"""A straight thing that looks bent: a bent plate or film, or the thing is not straight."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from radlength.clean import figures
from radlength.imaging.quality.across import across
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Radiograph

LIMIT_PERCENT = 1.0
"""Of its length: 0.2 mm on 20 mm (common practice, no source)."""
SOURCE = "a straight line projects as a straight line onto a plane; limit: common practice, no source"
_LEAST_PX = 60.0


def bend(radiograph: Radiograph, path_px: ArrayLike) -> Measure:
    """Return how far the axis of a straight thing bends away from a straight line.

    Parameters
    ----------
    radiograph
        The image.
    path_px
        (row, column) points along it, shape (N, 2). Only first and last count; the axis is found in the pixels.

    Notes
    -----
    Greatest distance of a smooth line through the centres of the profiles from the straight line that fits them
    best, as a percentage of the length. A trembling hand does not count.
    """
    points = np.asarray(path_px, dtype=np.float64)
    ends = points[[0, -1]]
    length = float(np.hypot(*(ends[1] - ends[0])))
    if length < _LEAST_PX:
        return not_measured("bend", "%", f"It is shorter than {_LEAST_PX:g} px.", SOURCE)
    clicked = _off_line(points)
    room = max(8.0, 0.03 * length, 1.5 * clicked)
    margin = int(0.04 * length)
    keep = slice(margin, max(int(length) - margin, margin + 1))
    profiles = across(radiograph.stored, ends, half_px=8.0, wander_px=room, keep=keep)
    if profiles is None or float(np.ptp(profiles.along_px)) < 0.6 * length:
        return not_measured("bend", "%", "Too little of it lies well inside the image.", SOURCE)
    line = np.column_stack([profiles.along_px, profiles.centres_px])
    away = line[:, 1] - np.polyval(np.polyfit(line[:, 0], line[:, 1], 1), line[:, 0])
    share = 100 * float(np.ptp(away)) / length
    return Measure(
        "bend",
        share,
        "%",
        "doubt" if share > LIMIT_PERCENT else "good",
        f"The axis leaves a straight line by {figures(share)} % of its length; more than {LIMIT_PERCENT:g} % is a "
        "doubt.",
        SOURCE,
        "If it is straight in the hand, the receptor was bent: lengths differ from place to place; take a flat one.",
        "serious",
    )


def _off_line(points: np.ndarray) -> float:
    way = points[-1] - points[0]
    away = points - points[0]
    return float(np.abs(away[:, 0] * way[1] - away[:, 1] * way[0]).max() / np.hypot(*way))
