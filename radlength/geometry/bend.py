"""Straight lines joined by circular arcs, fitted to clicked points: where a bend starts, its angle and its radius.

The smooth polynomial of :mod:`radlength.geometry.curve` measures lengths; it rounds off where a bend begins, which
methods that name an angle need. Many sets of clicks are fitted at once, for Monte Carlo. Knows no millimetres: units
are those of the points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from radlength.errors import MarkError
from radlength.geometry.curve import APART_SHARE
from radlength.geometry.path import FloatArray, check_path, polyline_length

FLATTEST = 1e-4
"""Smallest curvature of an arc, one over the length of the path: what is flatter counts as this."""

MOST_DEG = 150.0
"""Largest angle of one arc."""

_IDLE = 4
_LIMB = 3
"""Parameters of an arc: straight part before it, curvature, length."""


@dataclass(frozen=True, slots=True)
class Bends:
    """Fitted shapes of one or many paths.

    Parameters
    ----------
    parameters
        Shape (B, 2 + 3 K): heading of the first line, its offset from the first point, and for each arc the straight
        part before it, its curvature (positive: toward larger columns on a path that runs down) and its length.
    points
        The points, shape (B, N, 2).
    residual_rms
        Root mean square distance of the points from the shape, shape (B,).
    others
        Parameters of other minima of a single fit, the best first, shape (M, 2 + 3 K): what few points cannot tell
        apart.
    """

    parameters: FloatArray
    points: FloatArray
    residual_rms: FloatArray
    others: FloatArray

    @property
    def arcs(self) -> int:
        """Number of arcs."""
        return int((self.parameters.shape[1] - 2) // _LIMB)

    def angle_rad(self, arc: int = 0) -> FloatArray:
        """Return the signed angle an arc turns through within the points, radians, shape (B,)."""
        return np.asarray(self.parameters[:, 3 + _LIMB * arc] * self._inside(arc))

    def radius(self, arc: int = 0) -> FloatArray:
        """Return the radius of an arc, shape (B,)."""
        return np.asarray(1 / np.abs(self.parameters[:, 3 + _LIMB * arc]))

    def starts(self, arc: int = 0) -> FloatArray:
        """Return where an arc begins, shape (B, 2); before the first point where the shape says so."""
        joints, _ = _joints(self.parameters, self.points[:, 0])
        return joints[:, 2 * arc]

    def ends(self, arc: int = 0) -> FloatArray:
        """Return where an arc ends, shape (B, 2)."""
        joints, _ = _joints(self.parameters, self.points[:, 0])
        return joints[:, 2 * arc + 1]

    def heading(self, line: int = 0) -> FloatArray:
        """Return unit vectors along a straight part, shape (B, 2): 0 before the first arc, K after the last."""
        turned = self.parameters[:, 0].copy()
        for arc in range(line):
            turned += self.parameters[:, 3 + _LIMB * arc] * self.parameters[:, 4 + _LIMB * arc]
        return np.stack([np.cos(turned), np.sin(turned)], axis=1)

    def _inside(self, arc: int) -> FloatArray:
        """Return how much of an arc lies between the first and the last point, shape (B,)."""
        joints, headings = _joints(self.parameters, self.points[:, 0])
        curvature, length = self.parameters[:, 3 + _LIMB * arc], self.parameters[:, 4 + _LIMB * arc]
        first, last = (
            np.clip(_along(point, joints[:, 2 * arc], headings[:, 2 * arc], curvature), 0.0, length)
            for point in (self.points[:, 0], self.points[:, -1])
        )
        end = np.einsum(
            "bi,bi->b", self.points[:, -1] - joints[:, 2 * arc + 1], _unit(headings[:, 2 * arc + 1])
        )
        return np.asarray(np.where(end >= 0, length, last) - first)


def fit_bends(path: ArrayLike, *, arcs: int = 1) -> Bends:
    """Return lines joined by arcs through a path, by least squares of the distances of its points.

    Parameters
    ----------
    path
        Points, shape (N, 2), N >= 3 + 3 for one arc, 9 for two.
    arcs
        1 or 2.

    Raises
    ------
    MarkError
        Too few points, or none that can be measured.

    Examples
    --------
    >>> turned = np.radians(np.linspace(0, 60, 7))
    >>> bent = [(x, 0) for x in range(10)]
    >>> bent += [(9 + 5 * np.sin(a), 5 - 5 * np.cos(a)) for a in turned[1:]]
    >>> found = fit_bends(bent)
    >>> round(float(np.degrees(found.angle_rad()[0])), 1), round(float(found.radius()[0]), 2)
    (60.0, 5.0)
    """
    points = check_path(path)
    least = 3 + _LIMB * arcs
    if len(points) < least:
        raise MarkError(
            f"a path of {len(points)} points for {arcs} bend{'s' * (arcs > 1)}",
            f"{least} points or more; 7 follow a canal well (Dobó Nagy et al. 2002)",
            "click more points, two of them in the bend",
            code="bend-points",
        )
    size = polyline_length(points)
    starts = _starts(points, size, arcs)
    many = np.broadcast_to(points, (len(starts), *points.shape))
    rough, _ = _descend(starts, many, size, 16)
    best = np.argsort(_squares(rough, many))[:6]
    fine, squares = _descend(rough[best], many[best], size, 80)
    order = np.argsort(squares)
    return _bends(fine[order[:1]], points[None], fine[order])


def refit_bends(found: Bends, points: FloatArray, *, noise: float) -> Bends:
    """Return the shapes of many sets of points that differ little from one that is fitted.

    Parameters
    ----------
    found
        The fit of one path.
    points
        Shape (B, N, 2).
    noise
        Standard deviation of a coordinate: minima of the one path that it cannot tell apart each start a share.
    """
    many = np.broadcast_to(found.points[0], (len(found.others), *found.points[0].shape))
    squares = _squares(found.others, many)
    alike = found.others[squares <= squares[0] + 4 * noise**2]
    start = alike[np.arange(len(points)) % len(alike)]
    start[:, 1] -= np.einsum("bi,bi->b", points[:, 0] - found.points[0, 0], _normal(start[:, 0]))
    fine, _ = _descend(start, points, polyline_length(found.points[0]), 20)
    return _bends(fine, points, fine[:0])


def _bends(parameters: FloatArray, points: FloatArray, others: FloatArray) -> Bends:
    rms = np.sqrt(np.mean(_misses(parameters, points) ** 2, axis=1))
    return Bends(parameters, points, np.asarray(rms), others)


def _starts(points: FloatArray, size: float, arcs: int) -> FloatArray:
    """Return shapes to begin with: bends at several places, of several angles, to both sides."""
    away = points - points[0]
    reach = np.hypot(away[:, 0], away[:, 1])
    first = away[reach > APART_SHARE * reach.max()][:2].mean(axis=0)
    heading = math.atan2(first[1], first[0])
    if arcs == 1:
        turns = np.radians([-70.0, -30, -10, 10, 30, 70])
        rows: list[tuple[float, ...]] = [
            (heading, 0.0, share * size, turn / (length * size), length * size)
            for share, length, turn in product((0.2, 0.45, 0.7), (0.12, 0.35), turns)
        ]
    else:
        turns = np.radians([15.0, 40.0])
        rows = [
            (
                heading,
                0.0,
                s * size,
                side * a / (0.2 * size),
                0.2 * size,
                gap * size,
                -side * b / (0.2 * size),
                0.2 * size,
            )
            for s, gap, a, b, side in product((0.15, 0.35, 0.5), (0.05, 0.2), turns, turns, (-1, 1))
        ]
    return np.asarray(rows, dtype=np.float64)


def _descend(start: FloatArray, points: FloatArray, size: float, steps: int) -> tuple[FloatArray, FloatArray]:
    """Return the parameters after damped Gauss-Newton steps, and their sums of squares: all rows at once."""
    now = _allowed(start.copy(), size)
    squares = _squares(now, points)
    damping = np.full(len(now), 1e-2)
    scale = np.array([1.0, size] + [size, 1 / size, size] * ((now.shape[1] - 2) // _LIMB))
    idle = 0
    for _ in range(steps):
        misses = _misses(now, points)
        slope = _slope(now, points, misses, scale)
        normal = np.einsum("bnp,bnq->bpq", slope, slope)
        weight = damping[:, None] * np.einsum("bpp->bp", normal) + 1e-12
        normal += np.eye(now.shape[1]) * weight[:, None, :]
        step = np.linalg.solve(normal, -np.einsum("bnp,bn->bp", slope, misses)[..., None])[..., 0]
        tried = _allowed(now + step * scale, size)
        better = (found := _squares(tried, points)) < squares
        idle = 0 if np.any(found < squares - 1e-4 * squares - 1e-16 * size**2) else idle + 1
        now[better], squares[better] = tried[better], found[better]
        damping = np.clip(np.where(better, damping / 4, damping * 5), 1e-9, 1e6)
        if idle == _IDLE:
            break
    return now, squares


def _slope(now: FloatArray, points: FloatArray, misses: FloatArray, scale: FloatArray) -> FloatArray:
    columns = []
    for number, unit in enumerate(scale):
        moved = now.copy()
        moved[:, number] += 1e-6 * unit
        columns.append((_misses(moved, points) - misses) / 1e-6)
    return np.stack(columns, axis=-1)


def _allowed(parameters: FloatArray, size: float) -> FloatArray:
    """Keep arcs flatter than a radius of a fortieth of the path and shorter than the path."""
    for arc in range((parameters.shape[1] - 2) // _LIMB):
        at = 2 + _LIMB * arc
        lowest = -0.5 * size if arc == 0 else 0.0
        parameters[:, at] = np.clip(parameters[:, at], lowest, 1.2 * size)
        sign = np.where(parameters[:, at + 1] < 0, -1.0, 1.0)
        bent = np.clip(np.abs(parameters[:, at + 1]), FLATTEST / size, 40 / size)
        parameters[:, at + 2] = np.clip(parameters[:, at + 2], 0.01 * size, 1.5 * size)
        parameters[:, at + 1] = sign * np.minimum(bent, np.radians(MOST_DEG) / parameters[:, at + 2])
    return parameters


def _squares(parameters: FloatArray, points: FloatArray) -> FloatArray:
    return np.asarray(np.sum(_misses(parameters, points) ** 2, axis=1))


def _misses(parameters: FloatArray, points: FloatArray) -> FloatArray:
    """Return the signed distance of every point from the shape, shape (B, N)."""
    joints, headings = _joints(parameters, points[:, 0])
    misses, _ = _from_line(points, joints[:, 0], headings[:, 0])
    for joint in range(joints.shape[1]):
        away, along = _from_line(points, joints[:, joint], headings[:, joint])
        if joint % 2 == 0:
            away = _from_arc(
                points, joints[:, joint], headings[:, joint], parameters[:, 3 + _LIMB * (joint // 2)]
            )
        misses = np.where(along > 0, away, misses)
    return misses


def _joints(parameters: FloatArray, first: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where lines and arcs meet, shape (B, 2 K, 2), and the heading there, shape (B, 2 K)."""
    heading = parameters[:, 0]
    here = first + parameters[:, 1:2] * _normal(heading)
    places, headings = [], []
    for at in range(2, parameters.shape[1], _LIMB):
        straight, curvature, length = parameters[:, at], parameters[:, at + 1], parameters[:, at + 2]
        here = here + straight[:, None] * _unit(heading)
        places.append(here)
        headings.append(heading)
        half = curvature * length / 2
        chord = length * np.sinc(half / np.pi)
        here = here + chord[:, None] * _unit(heading + half)
        heading = heading + 2 * half
        places.append(here)
        headings.append(heading)
    return np.stack(places, axis=1), np.stack(headings, axis=1)


def _from_line(points: FloatArray, at: FloatArray, heading: FloatArray) -> tuple[FloatArray, FloatArray]:
    away = points - at[:, None]
    return (
        np.einsum("bni,bi->bn", away, _normal(heading)),
        np.einsum("bni,bi->bn", away, _unit(heading)),
    )


def _from_arc(points: FloatArray, at: FloatArray, heading: FloatArray, curvature: FloatArray) -> FloatArray:
    centre = at + _normal(heading) / curvature[:, None]
    away = np.hypot(*np.moveaxis(points - centre[:, None], -1, 0))
    return np.asarray((1 / curvature)[:, None] - np.sign(curvature)[:, None] * away)


def _along(point: FloatArray, at: FloatArray, heading: FloatArray, curvature: FloatArray) -> FloatArray:
    """Return how far along an arc a point lies, shape (B,)."""
    away = (point - at)[:, None]
    across, ahead = (
        np.einsum("bni,bi->b", away, _normal(heading)),
        np.einsum("bni,bi->b", away, _unit(heading)),
    )
    return np.asarray(np.arctan2(ahead * curvature, 1 - across * curvature) / curvature)


def _unit(heading: FloatArray) -> FloatArray:
    return np.stack([np.cos(heading), np.sin(heading)], axis=-1)


def _normal(heading: FloatArray) -> FloatArray:
    return np.stack([-np.sin(heading), np.cos(heading)], axis=-1)
