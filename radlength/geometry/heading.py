r"""A curve whose heading is a polynomial of the distance along it: curvature without waves.

.. math:: r(s) = r_0 + \int_0^s (\cos\theta, \sin\theta)\,ds', \quad \theta(s) = \sum_{k=0}^m c_k s^k

A straight line, a circle (m = 1) and a clothoid (m = 2) are such curves exactly. The curvature is the derivative of the
heading, where that of a polynomial in row and column swings at its ends. Lengths are not measured here: they are those
of :mod:`radlength.geometry.curve`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from radlength.errors import MarkError
from radlength.geometry.curve import places_apart
from radlength.geometry.path import FloatArray, check_path, cumulative_length

MAX_DEGREE = 4
"""Highest degree of the heading: the curvature is then of the third degree."""

LEAST_POINTS = 6
_NODES = 241
_STEPS = 25


@dataclass(frozen=True, slots=True)
class Heading:
    """The fitted curve.

    Parameters
    ----------
    start
        Where it begins, shape (2,).
    coefficients
        Of the heading over the share of the length, lowest first, radians.
    length
        Its length.
    residual_rms
        Root mean square distance of the points from it.
    response
        How the coefficients answer when a point moves across the curve, shape (degree + 1, N).
    normals
        Unit vectors across the curve at the points, shape (N, 2).
    """

    start: FloatArray
    coefficients: FloatArray
    length: float
    residual_rms: float
    response: FloatArray
    normals: FloatArray

    def curvature(self, s: ArrayLike) -> FloatArray:
        """Return the signed curvature at distances from the start, positive from rows towards columns."""
        share = np.asarray(s, dtype=np.float64) / self.length
        powers = np.arange(1, len(self.coefficients))
        slope = self.coefficients[1:] * powers
        return np.asarray(np.polynomial.polynomial.polyval(share, slope) / self.length)

    def angle_rad(self, s: ArrayLike) -> FloatArray:
        """Return the heading at distances from the start, radians."""
        share = np.asarray(s, dtype=np.float64) / self.length
        return np.asarray(np.polynomial.polynomial.polyval(share, self.coefficients))

    def moved(self, moves: FloatArray) -> FloatArray:
        """Return the coefficients after small moves of the points, to first order.

        Parameters
        ----------
        moves
            Shape (B, N, 2).

        Returns
        -------
        ndarray
            Shape (B, degree + 1).
        """
        across = np.einsum("bni,ni->bn", moves, self.normals)
        return np.asarray(self.coefficients + across @ self.response.T)

    def curvatures(self, coefficients: FloatArray, s: ArrayLike) -> FloatArray:
        """Return the curvature of many headings of this length, shape (B, M)."""
        share = np.asarray(s, dtype=np.float64) / self.length
        powers = np.arange(1, coefficients.shape[1])
        return np.asarray((coefficients[:, 1:] * powers) @ share ** (powers[:, None] - 1) / self.length)

    def points(self, count: int = _NODES) -> FloatArray:
        """Return points equally spaced along it, shape (count, 2)."""
        share = np.linspace(0.0, 1.0, count)
        return self.start + self.length * _integrated(share, self.coefficients)


def fit_heading(path: ArrayLike, *, degree: int | None = None) -> Heading:
    """Return the curve through a path, by least squares of the distances of its points.

    Parameters
    ----------
    path
        Points, shape (N, 2), N >= 6.
    degree
        Degree of the heading; by default the number of points that lie apart less 4, 1 to 4.

    Raises
    ------
    MarkError
        Fewer than six points, or none that can be measured.

    Examples
    --------
    >>> turned = np.linspace(0, 1, 9)
    >>> circle = np.column_stack([5 * np.sin(turned), 5 - 5 * np.cos(turned)])
    >>> f"{fit_heading(circle).curvature(2.5):.3f}"
    '0.200'
    """
    points = check_path(path)
    if len(points) < LEAST_POINTS:
        raise MarkError(
            f"a path of {len(points)} points",
            f"{LEAST_POINTS} points or more for a curvature",
            "click more points along the canal",
            code="curvature-points",
        )
    apart = places_apart(points)
    along = cumulative_length(points[apart])
    length = float(along[-1])
    share = along / length
    degree = min(MAX_DEGREE, max(len(apart) - 4, 1)) if degree is None else degree
    step = np.diff(points[apart], axis=0)
    turned = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    middle = (share[1:] + share[:-1]) / 2
    share = share[np.searchsorted(apart, np.arange(len(points)), side="right") - 1]
    first = min(degree, 2, len(middle) - 1)
    guess = np.zeros(degree + 1)
    guess[: first + 1] = np.polynomial.polynomial.polyfit(middle, turned, first)
    start = points[0].copy()
    for _ in range(_STEPS):
        system, misses, normal, share = _step(points, share, start, guess, length)
        change = np.linalg.lstsq(system, misses, rcond=1e-10)[0]
        ahead = np.array([np.cos(guess[0]), np.sin(guess[0])])
        start = start + change[0] * np.array([-ahead[1], ahead[0]]) + length * share[0] * ahead
        share = share - share[0]
        guess = (guess + change[1:]) * share[-1] ** np.arange(degree + 1)
        length, share = length * share[-1], share / share[-1]
        if np.abs(change).max() < 1e-7 * max(length, 1.0):
            break
    away = _normal_misses(points, share, start, guess, length)
    response = np.asarray(np.linalg.pinv(system, rcond=1e-10)[1:], dtype=np.float64)
    return Heading(start, guess, length, float(np.sqrt(np.mean(away**2))), response, normal)


def _step(
    points: FloatArray, share: FloatArray, start: FloatArray, coefficients: FloatArray, length: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return slopes and misses across the curve, unit vectors across it, and shares of the length at the points."""
    grid = np.linspace(0.0, 1.0, _NODES)
    angle = np.polynomial.polynomial.polyval(grid, coefficients)
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    across = np.column_stack([-unit[:, 1], unit[:, 0]])
    slopes = [length * _cumulative(across * grid[:, None] ** k, grid) for k in range(len(coefficients))]
    at = start + length * _cumulative(unit, grid)
    here = _on(share, grid, at)
    heading = np.polynomial.polynomial.polyval(share, coefficients)
    along = np.column_stack([np.cos(heading), np.sin(heading)])
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    columns = [normal @ across[0]]
    columns += [np.einsum("ni,ni->n", _on(share, grid, slope), normal) for slope in slopes]
    misses = np.einsum("ni,ni->n", points - here, normal)
    share = share + np.clip(np.einsum("ni,ni->n", points - here, along) / length, -0.1, 0.1)
    return np.column_stack(columns), misses, normal, share


def _normal_misses(
    points: FloatArray, share: FloatArray, start: FloatArray, coefficients: FloatArray, length: float
) -> FloatArray:
    at = start + length * _integrated(share, coefficients)
    heading = np.polynomial.polynomial.polyval(share, coefficients)
    away = points - at
    return np.asarray(-away[:, 0] * np.sin(heading) + away[:, 1] * np.cos(heading))


def _integrated(share: FloatArray, coefficients: FloatArray) -> FloatArray:
    grid = np.linspace(0.0, 1.0, _NODES)
    angle = np.polynomial.polynomial.polyval(grid, coefficients)
    return _on(share, grid, _cumulative(np.column_stack([np.cos(angle), np.sin(angle)]), grid))


def _cumulative(values: FloatArray, grid: FloatArray) -> FloatArray:
    """Return the integral from 0 to every node: Simpson's rule at every second node, the rest by the trapezoid."""
    step = grid[1] - grid[0]
    total = np.zeros_like(values)
    total[1:] = np.cumsum((values[1:] + values[:-1]) * (step / 2), axis=0)
    slope = np.gradient(values, step, axis=0)
    return np.asarray(total - (slope - slope[0]) * step**2 / 12)


def _on(share: FloatArray, grid: FloatArray, values: FloatArray) -> FloatArray:
    return np.column_stack([np.interp(share, grid, values[:, 0]), np.interp(share, grid, values[:, 1])])
