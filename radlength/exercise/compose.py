"""Paths that mix a learner's marks with the true ones, so that each mark's share of an error can be found.

Three things make up the path of a canal: its first mark, its course, its last mark. Each is the learner's or the
true one, which makes eight paths. A true course runs along the true canal between the two marks it is joined to.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.geometry import fit_curve
from radlength.geometry.batch import MANY, curve_lengths
from radlength.geometry.curve import degree_of

FloatArray = NDArray[np.float64]

TRUE_CLICKS = 8
"""Clicks of a true path, ends included, at equal steps along the canal."""
_MARGIN = 1e-6
_SHARES: FloatArray = np.linspace(0, 1, TRUE_CLICKS)[1:-1]


class TrueLine:
    """The image of a canal or an instrument as a close polyline, in units in which both directions count the same.

    Parameters
    ----------
    points
        Shape (K, 2), from the crown, at equal steps along the true curve.
    """

    def __init__(self, points: ArrayLike) -> None:
        self.points: FloatArray = np.asarray(points, dtype=np.float64)
        self.steps: FloatArray = np.gradient(self.points, axis=0)
        self.lengths: FloatArray = np.hypot(self.steps[:, 0], self.steps[:, 1])
        self.last = len(self.points) - 1

    def feet(self, points: FloatArray) -> FloatArray:
        """Return where points lie along the line, as fractional places, shape (N,); beyond the ends it goes on."""
        away = points[:, None, :] - self.points[None]
        nearest = np.argmin(np.einsum("nkd,nkd->nk", away, away), axis=1)
        rest = away[np.arange(len(points)), nearest]
        along = np.einsum("nd,nd->n", rest, self.steps[nearest]) / self.lengths[nearest] ** 2
        low = np.where(nearest == 0, -np.inf, -1.0)
        high = np.where(nearest == self.last, np.inf, 1.0)
        return np.asarray(nearest + np.minimum(np.maximum(along, low), high))

    def at(self, places: FloatArray) -> FloatArray:
        """Return points at fractional places, shape (N, 2); beyond the ends the line goes on straight."""
        index = np.minimum(np.maximum(np.floor(places).astype(np.intp), 0), self.last - 1)
        rest = (places - index)[:, None]
        return np.asarray(self.points[index] * (1 - rest) + self.points[index + 1] * rest)

    def across(self, points: FloatArray) -> FloatArray:
        """Return the signed distance of points from the line, shape (N,)."""
        places = self.feet(points)
        nearest = np.clip(np.rint(places).astype(np.intp), 0, self.last)
        way = self.steps[nearest] / self.lengths[nearest][:, None]
        away = points - self.at(places)
        return np.asarray(way[:, 0] * away[:, 1] - way[:, 1] * away[:, 0])

    def off(self, points: FloatArray, end: Literal[0, -1]) -> FloatArray:
        """Return how far points lie from an end of the line, shape (N, 2): along it apically, and across."""
        along = self.steps[end] / self.lengths[end]
        away = points - self.points[end]
        return np.column_stack([away @ along, away @ np.array([-along[1], along[0]])])


def mixed_paths(true: TrueLine, own: FloatArray) -> list[FloatArray]:
    """Return the eight paths of a canal: index 4 C + 2 P + A, each 1 where the learner's mark is taken.

    Parameters
    ----------
    true
        The canal as it is.
    own
        The learner's path, shape (N, 2), same units, from the crown.

    Returns
    -------
    list of ndarray
        C the first mark, P the course, A the last mark. The last of the eight is `own` unchanged.
    """
    places = true.feet(own)
    inner, inner_places = own[1:-1], places[1:-1]
    ends = ((true.points[0], 0.0), (own[0], float(places[0])))
    tips = ((true.points[-1], float(true.last)), (own[-1], float(places[-1])))
    paths = []
    for first, start in ends:
        for learners in (False, True):
            for last, end in tips:
                if learners:
                    keep = (inner_places > start + _MARGIN) & (inner_places < end - _MARGIN)
                    middle = inner[keep]
                else:
                    middle = true.at(start + _SHARES * (end - start))
                paths.append(np.vstack([first, middle, last]))
    paths[-1] = own
    return paths


def lengths_of(paths: list[FloatArray]) -> FloatArray:
    """Return the curve length of every path, shape (len(paths),); NaN where one cannot be measured.

    Paths with equally many points and one degree are fitted together.
    """
    lengths = np.full(len(paths), np.nan)
    with np.errstate(all="ignore"):
        kinds = np.array([(len(path), degree_of(path)) for path in paths], dtype=np.intp)
    for kind in np.unique(kinds, axis=0):
        at = np.flatnonzero((kinds == kind).all(axis=1))
        group = np.stack([paths[i] for i in at])
        with np.errstate(all="ignore"):
            try:
                lengths[at] = curve_lengths(group, int(kind[1]), MANY)
            except np.linalg.LinAlgError:
                lengths[at] = [_length(path) for path in group]
    return lengths


def _length(path: FloatArray) -> float:
    try:
        return fit_curve(path).length
    except MarkError:
        return float("nan")
