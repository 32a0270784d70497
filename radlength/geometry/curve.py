r"""The smooth curve through clicked points, and everything measured along it.

A canal is drawn as a polynomial pinned at both ends,

.. math:: r(t) = a + t (b - a) + (1 - t) \sum_{k=1}^{n-1} c_k t^k,

fitted by least squares to the clicks between. ``t`` is the share of the polyline's length. A polynomial of
degree 4 follows root canals well (Dobo Nagy et al. 2002, 433 roots, forms I, J, C and S), and unlike a curve
forced through every click it does not grow longer when a hand trembles. Where many points lie on a smooth line that
degree 4 misses, as those a program places along a canal that turns sharply before its apex, the degree is 8.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.geometry.path import FloatArray, check_path, cumulative_length

MAX_DEGREE = 4

IntArray = NDArray[np.intp]


@cache
def quadrature(nodes: int) -> tuple[FloatArray, FloatArray]:
    """Return the nodes on 0..1 and their weights (Gauss and Legendre), both read-only, shape (nodes,).

    Examples
    --------
    >>> places, weights = quadrature(2)
    >>> places.round(4).tolist(), weights.tolist()
    ([0.2113, 0.7887], [0.5, 0.5])
    """
    places, weights = np.polynomial.legendre.leggauss(nodes)
    places, weights = (places + 1) / 2, weights / 2
    places.flags.writeable = weights.flags.writeable = False
    return places, weights


NODES, WEIGHTS = quadrature(32)
"""What the length of a curve is summed over."""

SMOOTH_DEGREE, SMOOTH_CLICKS, MANY_CLICKS = 8, 12, 16
"""Degree of the polynomial through a smooth line that degree 4 misses, and how many points apart show that: at least,
and from where on more show it no better."""
MISSED_SHARE = 1 / 400
"""Root mean square distance of points from degree 4, as a share of the path, above which that misses them."""
SMOOTH_SHARE = (0.12, 0.2)
"""Points lie on a smooth line where degree 8 leaves no more than this share of that distance: 12, and 16 or more.
Of points that tremble 12 leave so little 4 times in 1000, 14 and more less than once."""

APART_SHARE = 0.03
"""Clicks nearer to each other than this share of the path say only once where the canal runs: several at one place
carry no further term. One that only their tremor holds would swing by millimetres."""

SWING = 6.0
"""A term is left out where the curve may move farther between the clicks than so many times as far as they lie off it:
clicks in the last third of a canal and one at its start left a curve of degree 4 free to swing by millimetres over
what lies between, and one of degree 8 by hundreds."""

STEADY_STEP = 0.25
"""Clicks no farther from the next than this share of the path hold a curve of degree 4: it moves less than four times
as far as they do (3.6 at most where the worst of 6 to 11 clicks was searched for)."""


def degree_for(clicks: int) -> int:
    """Return the degree that a number of clicks can carry: 1 for two clicks, up to 4 from six on.

    Five clicks take degree 3: with degree 4 they would be interpolated, and every tremor kept.

    Examples
    --------
    >>> [degree_for(n) for n in (2, 3, 4, 5, 6, 12)]
    [1, 2, 3, 3, 4, 4]
    """
    return min(MAX_DEGREE, clicks - 1 if clicks < 5 else clicks - 2)


def degree_of(clicks: FloatArray) -> int:
    """Return the degree of the curve through a path."""
    usual = degree_for(clicks_apart(clicks))
    if usual <= 1:
        return 1
    along = cumulative_length(clicks)
    return _fitted_by_need(clicks, along / along[-1], usual).degree


def places_apart(points: FloatArray, most: int | None = None) -> IntArray:
    """Return which points lie apart, both ends included.

    Parameters
    ----------
    points
        A path, shape (N, 2).
    most
        Looked for no further than so many.

    Notes
    -----
    A point counts where it is away from all that count before it, not from where the hand went in between: a hand that
    trembles at one place goes a long way there.
    """
    least = APART_SHARE * float(cumulative_length(points)[-1])
    first, *between, last = points.tolist()
    kept, which = [last, first], [0]
    for index, point in enumerate(between, start=1):
        if most is not None and len(kept) >= most:
            break
        if all(math.dist(point, other) >= least > 0 for other in kept):
            kept.append(point)
            which.append(index)
    return np.array([*which, len(points) - 1], dtype=np.intp)


def clicks_apart(clicks: FloatArray, most: int = MAX_DEGREE + 2) -> int:
    """Return how many clicks lie apart, both ends included; counted no further than the usual degree needs.

    Parameters
    ----------
    clicks
        A path, shape (N, 2).
    most
        Counted no further than that.

    Examples
    --------
    >>> clicks_apart(np.array([(0.0, 0.0), (0.2, 0.0), (9.0, 0.0), (9.4, 0.0), (9.0, 0.2), (20.0, 0.0)]))
    3
    """
    return len(places_apart(clicks, most))


def basis(t: FloatArray, degree: int) -> FloatArray:
    """Return the pinned basis t^k (1 - t), k = 1..degree-1, shape (..., degree - 1)."""
    powers = np.arange(1, degree)
    column = t[..., None]
    return np.asarray(column**powers * (1 - column), dtype=np.float64)


def basis_slope(t: FloatArray, degree: int) -> FloatArray:
    """Return the derivative of :func:`basis` with respect to t, same shape."""
    powers = np.arange(1, degree)
    column = t[..., None]
    return np.asarray(powers * column ** (powers - 1) - (powers + 1) * column**powers, dtype=np.float64)


@cache
def _slope_at_nodes(degree: int) -> FloatArray:
    return basis_slope(NODES, degree)


@cache
def _at_nodes(degree: int) -> FloatArray:
    return basis(NODES, degree)


def swing(t: FloatArray, degree: int) -> float:
    """Return how far a curve may move between its clicks when each moves by one, where it moves most.

    Parameters
    ----------
    t
        Parameter of every click, 0 at the first, 1 at the last, shape (N,).
    degree
        Degree of the curve.

    Notes
    -----
    A place of a least squares curve is a weighted sum of the clicks between the ends. The sum of the sizes of the
    weights, the Lebesgue constant of the clicks, bounds how far the curve is from any other of its degree over how far
    the clicks are from that; many clicks close together do not make it small.

    Examples
    --------
    >>> even, apical = np.linspace(0, 1, 8), np.array([0, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1])
    >>> round(swing(even, 4), 1), round(swing(apical, 4)), round(swing(apical, 2), 1)
    (1.5, 77, 1.6)
    """
    if degree <= 1 or len(t) <= 2:
        return 0.0
    weights = _at_nodes(degree) @ np.linalg.pinv(basis(t[1:-1], degree))
    return float(np.abs(weights).sum(axis=1).max())


def _steady_degree(t: FloatArray, most: int) -> int:
    """Return the highest degree, up to a usual one, at which the curve does not swing between its clicks."""
    if np.diff(t).max() <= STEADY_STEP:
        return most
    return next((degree for degree in range(most, 1, -1) if swing(t, degree) <= SWING), 1)


@dataclass(frozen=True, eq=False)
class Curve:
    """A smooth curve pinned at its two ends.

    Parameters
    ----------
    clicks
        The points it was fitted to, shape (N, 2).
    t
        Parameter of every click, shape (N,), 0 at the first, 1 at the last.
    coefficients
        Shape (degree - 1, 2).

    Notes
    -----
    Units are those of the clicks: pixels, or millimetres where the caller has scaled them.
    """

    clicks: FloatArray
    t: FloatArray
    coefficients: FloatArray

    @property
    def degree(self) -> int:
        """Degree of the polynomial."""
        return len(self.coefficients) + 1

    @property
    def chord(self) -> FloatArray:
        """Vector from the first to the last point, shape (2,)."""
        return np.asarray(self.clicks[-1] - self.clicks[0])

    def points(self, t: ArrayLike) -> FloatArray:
        """Return points on the curve at parameters `t`, shape (M, 2)."""
        t = np.atleast_1d(np.asarray(t, dtype=np.float64))
        return np.asarray(
            self.clicks[0] + t[:, None] * self.chord + basis(t, self.degree) @ self.coefficients
        )

    def velocity(self, t: ArrayLike) -> FloatArray:
        """Return dr/dt at parameters `t`, shape (M, 2)."""
        t = np.atleast_1d(np.asarray(t, dtype=np.float64))
        return np.asarray(self.chord + basis_slope(t, self.degree) @ self.coefficients)

    def tangent(self, t: ArrayLike) -> FloatArray:
        """Return unit vectors along the curve, towards its end, shape (M, 2)."""
        velocity = self.velocity(t)
        return np.asarray(velocity / np.linalg.norm(velocity, axis=1, keepdims=True))

    @cached_property
    def _node_velocity(self) -> FloatArray:
        return np.asarray(self.chord + _slope_at_nodes(self.degree) @ self.coefficients)

    @cached_property
    def length(self) -> float:
        """Arc length by 32-point Gauss-Legendre quadrature of the speed."""
        velocity = self._node_velocity
        return float(WEIGHTS @ np.hypot(velocity[:, 0], velocity[:, 1]))

    def length_between(self, t0: float, t1: float) -> float:
        """Return the arc length from parameter `t0` to `t1`, negative where `t1` < `t0`."""
        velocity = self.velocity(t0 + (t1 - t0) * NODES)
        return float((t1 - t0) * (WEIGHTS @ np.hypot(velocity[:, 0], velocity[:, 1])))

    def resample(self, count: int) -> FloatArray:
        """Return `count` >= 2 points equally spaced along the curve, both ends included, shape (count, 2)."""
        return self.points(self._parameters_at(np.linspace(0.0, self.length, count)))

    def point_at(self, distance: float) -> FloatArray:
        """Return the point at a distance along the curve from its start, clipped to its ends, shape (2,)."""
        return np.asarray(self.points(self._parameters_at(np.array([distance])))[0])

    def _parameters_at(self, distances: FloatArray) -> FloatArray:
        t = np.linspace(0.0, 1.0, 513)
        velocity = self.velocity(t)
        speed = np.hypot(velocity[:, 0], velocity[:, 1])
        along = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) * (t[1] - t[0]) / 2)])
        along *= self.length / along[-1]
        return np.asarray(np.interp(distances, along, t))

    def curvature(self, t: ArrayLike) -> FloatArray:
        """Return the signed curvature at `t`, one over the unit of the clicks, shape (M,).

        Positive where the curve turns from rows towards columns.
        """
        t = np.atleast_1d(np.asarray(t, dtype=np.float64))
        powers = np.arange(1, self.degree)
        column = t[:, None]
        bend = powers * (powers - 1) * column ** np.maximum(powers - 2, 0) - (
            powers + 1
        ) * powers * column ** (powers - 1)
        acceleration = bend @ self.coefficients
        velocity = self.velocity(t)
        cross = velocity[:, 0] * acceleration[:, 1] - velocity[:, 1] * acceleration[:, 0]
        return np.asarray(cross / np.hypot(velocity[:, 0], velocity[:, 1]) ** 3)

    def curvature_profile(self, step: float) -> tuple[FloatArray, FloatArray]:
        """Return distances from the start at every `step` along the curve, and the curvature there."""
        distances = np.arange(0.0, self.length + step * 1e-9, step)
        return distances, self.curvature(self._parameters_at(distances))

    @property
    def turning_rad(self) -> float:
        """Total angle the curve turns through, radians, left and right turns added.

        Before a sharp bend the polynomial swings a little the other way, which adds some degrees.
        """
        speed = np.linalg.norm(self.velocity(NODES), axis=1)
        return float(WEIGHTS @ (np.abs(self.curvature(NODES)) * speed))

    @cached_property
    def residual_rms(self) -> float:
        """Root mean square distance of the inner clicks from their points on the curve, per coordinate."""
        if len(self.clicks) <= 2:
            return 0.0
        misses = (self.points(self.t) - self.clicks)[1:-1]
        return float(np.sqrt(np.mean(misses**2)))

    def length_gradient(self) -> FloatArray:
        """Return the derivative of the length with respect to every click, shape (N, 2).

        The parameters of the clicks are held: moving them slides clicks along the curve, which changes the
        length only in second order.
        """
        velocity = self._node_velocity
        unit = velocity / np.hypot(velocity[:, 0], velocity[:, 1])[:, None]
        weighted = WEIGHTS[:, None] * unit
        gradient = np.zeros_like(self.clicks)
        along = weighted.sum(axis=0)
        gradient[0] -= along
        gradient[-1] += along
        if self.degree > 1:
            inner = self.t[1:-1]
            solve = np.linalg.pinv(basis(inner, self.degree))
            per_click = (_slope_at_nodes(self.degree) @ solve).T @ weighted
            gradient[1:-1] += per_click
            gradient[0] -= (1 - inner) @ per_click
            gradient[-1] -= inner @ per_click
        return gradient


def fit_curve(path: ArrayLike, *, degree: int | None = None) -> Curve:
    """Return the pinned polynomial through a path.

    Parameters
    ----------
    path
        Points, shape (N, 2), N >= 2; the first and last are kept exactly.
    degree
        Degree of the polynomial; by default :func:`degree_for` the number of points that lie apart, less where it
        would swing between them (`SWING`), and 8 where twelve and more lie on a smooth line that degree 4 misses.

    Returns
    -------
    Curve

    Raises
    ------
    MarkError
        See :func:`radlength.geometry.path.check_path`.

    Examples
    --------
    >>> round(fit_curve([(0, 0), (3, 4)]).length, 9)
    5.0
    """
    clicks = check_path(path)
    along = cumulative_length(clicks)
    t = along / along[-1]
    if degree is None:
        return _fitted_by_need(clicks, t, degree_for(clicks_apart(clicks)))
    return _fitted(clicks, t, degree)


def _fitted_by_need(clicks: FloatArray, t: FloatArray, usual: int) -> Curve:
    """Return the curve of the usual degree, a lower one where that swings, a higher one where it misses a line."""
    curve = _fitted(clicks, t, _steady_degree(t, usual))
    size = cumulative_length(clicks)[-1]
    if len(clicks) < SMOOTH_CLICKS or curve.residual_rms <= MISSED_SHARE * size:
        return curve
    apart = clicks_apart(clicks, MANY_CLICKS)
    if apart < SMOOTH_CLICKS or swing(t, SMOOTH_DEGREE) > SWING:
        return curve
    finer = _fitted(clicks, t, SMOOTH_DEGREE)
    share = np.interp(apart, (SMOOTH_CLICKS, MANY_CLICKS), SMOOTH_SHARE)
    return finer if finer.residual_rms < share * curve.residual_rms else curve


def _fitted(clicks: FloatArray, t: FloatArray, degree: int) -> Curve:
    if degree <= 1 or len(clicks) <= 2:
        return Curve(clicks, t, np.zeros((0, 2)))
    inner = t[1:-1]
    offsets = clicks[1:-1] - (clicks[0] + inner[:, None] * (clicks[-1] - clicks[0]))
    coefficients = np.linalg.lstsq(basis(inner, degree), offsets, rcond=None)[0]
    return Curve(clicks, t, coefficients)
