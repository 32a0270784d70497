"""From likely courses to one smooth line that starts and ends where a person clicked."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, ROW_MM
from radlength.tracing.search import Courses

FloatArray = NDArray[np.float64]

NEAR_MM = 0.3
"""Only what is this near to the likely course says where exactly it runs."""
TOGETHER = 0.5
"""Where more than this is that near to the mean of all courses, they are one, and their mean is the likely course."""
GRAIN_MM = 0.02
"""SD of a place that rounding to steps leaves."""
STIFFNESS_MM2 = 390.0
"""Weight of the squared second derivative against that of squared distances over their variance."""
SHARPER = 1.3
"""Nats of evidence of weight 1 for the place of the middle, once it is known which line it is."""
REACH_MM = 0.15
PASSES = 2
_HELD = 1e7


def smooth_course(courses: Courses, weight: FloatArray) -> FloatArray:
    """Return the place across the corridor at every row, mm, shape (rows,); 0 at both ends.

    Parameters
    ----------
    courses
        Likely courses.
    weight
        What answers, shape (rows, 61), which says more exactly where the middle of the line is.

    Notes
    -----
    Penalised least squares on second differences (Eilers 2003, Analytical Chemistry 75, 3631), each node weighted
    by one over the variance of its place.
    """
    middle = courses.share @ ACROSS_MM
    together = (courses.share * _near(middle)).sum(axis=1)
    near = courses.share * _near(np.where(together > TOGETHER, middle, courses.course_mm))
    place, variance = _mean_and_variance(near)
    target, sure = np.zeros(len(weight)), np.zeros(len(weight))
    target[courses.rows], sure[courses.rows] = place, 1 / variance
    route = _held(target, sure)
    for _ in range(PASSES):
        route = _held(*_centred(weight, route))
    return route


def _near(place: FloatArray) -> NDArray[np.bool_]:
    return np.asarray(np.abs(ACROSS_MM - place[:, None]) <= NEAR_MM + 1e-9)


def _centred(weight: FloatArray, route: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the middle of the line near a route, and one over its variance, at every row."""
    told = SHARPER * weight - 0.5 * ((ACROSS_MM - route[:, None]) / REACH_MM) ** 2
    place, variance = _mean_and_variance(np.exp(told - told.max(axis=1, keepdims=True)))
    return place, 1 / variance


def _mean_and_variance(share: FloatArray) -> tuple[FloatArray, FloatArray]:
    total = np.maximum(share.sum(axis=1), 1e-300)
    place = share @ ACROSS_MM / total
    return place, np.maximum(share @ ACROSS_MM**2 / total - place**2, 0) + GRAIN_MM**2


def _held(target: FloatArray, sure: FloatArray) -> FloatArray:
    """Return the smooth line through places, held at both ends."""
    target[[0, -1]], sure[[0, -1]] = 0.0, _HELD
    smooth = _penalised(target, sure, STIFFNESS_MM2 / ROW_MM**4)
    smooth[[0, -1]] = 0.0
    return smooth


def _penalised(target: FloatArray, weight: FloatArray, stiffness: float) -> FloatArray:
    """Solve (W + stiffness D'D) u = W y, D second differences, as a band of five."""
    from scipy.linalg import solveh_banded  # noqa: PLC0415

    count = len(target)
    band = np.zeros((3, count))
    band[2] = weight
    second = (1.0, -2.0, 1.0)
    for i in range(3):
        for j in range(i, 3):
            band[2 - (j - i), j : count - 2 + j] += stiffness * second[i] * second[j]
    return np.asarray(solveh_banded(band, weight * target), dtype=np.float64)
