"""The curve that a few clicks make likely, however unevenly they lie along a canal.

The polynomial through every click swings wide where two are far apart, as from the crown to the first of several clicks
in the bend. Canals do not: they are straight in their coronal part and bend toward the apex (common practice, no
source).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.curve import Curve, basis
from radlength.geometry.path import check_path, cumulative_length

FloatArray = NDArray[np.float64]

DEGREE = 4
CLICK_MM = 0.1
"""SD of a click between the ends."""
BEND = 0.003
"""How much a canal bends: variance of its second derivative times a length, 1/mm; by simulated images."""
STRAIGHT, APICAL = 0.4, 0.2
"""Up to that part of the path a canal is straightest; at the apex a bend costs this part of what it costs there."""
STEPS = 200


def likely_curve(anchors_mm: FloatArray) -> Curve:
    """Return the likely curve through clicks, its ends the first and the last, which it keeps.

    Parameters
    ----------
    anchors_mm
        (row, column) of the clicks in millimetres, shape (N, 2), N >= 2, no two at one place.

    Notes
    -----
    Least squares of the clicks over their variance and of the second derivative over what canals show, of the pinned
    polynomial of degree 4: ridge regression, the mode of its posterior for normal errors.

    Examples
    --------
    >>> curve = likely_curve(np.array([[0.0, 0.0], [12.0, 0.1], [16.0, 0.4], [20.0, 1.5]]))
    >>> points = curve.resample(21)
    >>> points[[0, -1]].round(6).tolist(), bool(abs(points[:9, 1]).max() < 0.2)
    ([[0.0, 0.0], [20.0, 1.5]], True)
    """
    clicks = check_path(anchors_mm)
    along = cumulative_length(clicks)
    place = along / along[-1]
    if len(clicks) < 3:
        return Curve(clicks, place, np.zeros((0, 2)))
    inner = place[1:-1, None]
    off = clicks[1:-1] - (clicks[0] + inner * (clicks[-1] - clicks[0]))
    shown = basis(inner[:, 0], DEGREE) / CLICK_MM
    prior = _bending() / (BEND * along[-1] ** 3)
    return Curve(clicks, place, np.linalg.solve(shown.T @ shown + prior, shown.T @ (off / CLICK_MM)))


@cache
def _bending() -> FloatArray:
    """Return the weighted integral of products of second derivatives over the whole path, of length 1."""
    place = np.linspace(0, 1, STEPS + 1)
    second = np.gradient(np.gradient(basis(place, DEGREE), place, axis=0), place, axis=0)
    weight = np.interp(place, [STRAIGHT, 1], [1, APICAL])
    return np.asarray(second.T @ (weight[:, None] * second) / STEPS)
