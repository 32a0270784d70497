"""Clicked points: checking them, and the lengths and crossings of the polyline through them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.geometry.number import is_number

Point = tuple[float, float]
"""(row, column) in pixels, centre of the top-left pixel at (0, 0)."""

AnyPath = Sequence[Sequence[float]] | NDArray[Any]
"""What becomes a path: rows of two numbers, or an array of shape (N, 2)."""

FloatArray = NDArray[np.float64]

FARTHEST = 1e9
"""No point is farther off, in pixels or millimetres: what is squared on the way stays a number."""


def check_path(path: ArrayLike, *, subject: str | None = None) -> FloatArray:
    """Return a path as an array, or say why it is none.

    Parameters
    ----------
    path
        (row, column) points, shape (N, 2), N >= 2.
    subject
        What the path is of, named in the refusal.

    Returns
    -------
    ndarray
        Float64 array of shape (N, 2).

    Raises
    ------
    MarkError
        Fewer than two points, not pairs, not finite, absurdly far off, or first and last at the same place.

    Examples
    --------
    >>> check_path([(0, 0), (3, 4)]).shape
    (2, 2)
    """
    points = _numbers(path, subject)
    if points.size == 0 or (points.ndim == 2 and len(points) < 2):
        raise MarkError(
            f"a path has {len(points)} point{'s' * (len(points) != 1)}",
            "a path needs at least two (row, column) points",
            "mark the other end",
            code="path-too-short",
            subject=subject,
        )
    if points.ndim != 2 or points.shape[1] != 2:
        raise MarkError(
            f"a path has the shape {points.shape}",
            "(row, column) pairs, shape (N, 2)",
            code="path-not-points",
            subject=subject,
        )
    if not np.isfinite(points).all():
        raise MarkError(
            "a path has a point that is not a number",
            "finite (row, column) pairs, in pixels",
            "mark the point again",
            code="path-not-finite",
            subject=subject,
        )
    if np.abs(points).max() > FARTHEST:
        raise MarkError(
            f"a path has a point {np.abs(points).max():.3g} away from the corner of the image",
            f"coordinates up to {FARTHEST:g}",
            "mark the point again",
            code="path-too-far",
            subject=subject,
        )
    if np.hypot(*(points[-1] - points[0])) < 1e-6:
        raise MarkError(
            "a path starts and ends at the same place",
            "first and last point apart",
            "mark the other end",
            code="path-closed",
            subject=subject,
        )
    return points


def _numbers(path: ArrayLike, subject: str | None) -> FloatArray:
    """Return what is a list of numbers as float64; texts, truth values, dates and masked points are none."""
    try:
        raw = np.asarray(path)
        if raw.dtype.kind == "O":
            plain = all(one is None or is_number(one) for one in raw.flat)
        else:
            plain = raw.dtype.kind in "iuf"
        if plain and not np.ma.is_masked(path):
            return np.asarray(raw, dtype=np.float64)
    except (TypeError, ValueError, OverflowError) as exc:
        raise _no_numbers(subject) from exc
    raise _no_numbers(subject)


def _no_numbers(subject: str | None) -> MarkError:
    return MarkError(
        "a path is not a list of numbers",
        "(row, column) pairs of numbers, in pixels",
        code="path-not-points",
        subject=subject,
    )


def as_points(path: ArrayLike, *, subject: str | None = None) -> tuple[Point, ...]:
    """Return a checked path as a tuple of plain (row, column) pairs that compares and hashes."""
    return tuple((row, column) for row, column in check_path(path, subject=subject).tolist())


def cumulative_length(points: FloatArray) -> FloatArray:
    """Return the distance from the first point along the polyline, shape (N,), in the unit of `points`."""
    steps = np.diff(points, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])


def polyline_length(points: FloatArray) -> float:
    """Return the length of the polyline, in the unit of `points`.

    Examples
    --------
    >>> polyline_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]]))
    11.0
    """
    return float(cumulative_length(points)[-1])


def points_along(points: FloatArray, places: FloatArray) -> FloatArray:
    """Return the points of the polyline at distances from its first point, shape (N, 2).

    Examples
    --------
    >>> points_along(np.array([[0.0, 0.0], [3.0, 4.0]]), np.array([0.0, 2.5])).tolist()
    [[0.0, 0.0], [1.5, 2.0]]
    """
    along = cumulative_length(points)
    return np.column_stack([np.interp(places, along, points[:, axis]) for axis in (0, 1)])


def equal_steps(points: FloatArray, count: int) -> FloatArray:
    """Return `count` points at equal steps along the polyline, its ends included, shape (count, 2)."""
    return points_along(points, np.linspace(0, polyline_length(points), count))


def straight_length(points: FloatArray) -> float:
    """Return the distance from first to last point, in the unit of `points`."""
    return float(np.hypot(*(points[-1] - points[0])))


def crosses_itself(points: FloatArray) -> bool:
    """Tell whether two segments of the polyline that are not neighbours cross.

    Examples
    --------
    >>> crosses_itself(np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]]))
    True
    """
    first, second = np.triu_indices(len(points) - 1, k=2)
    a, b, c, d = points[first], points[first + 1], points[second], points[second + 1]
    across = _side(a, b, c) * _side(a, b, d)
    along = _side(c, d, a) * _side(c, d, b)
    return bool(np.any((across < 0) & (along < 0)))


def _side(start: FloatArray, end: FloatArray, point: FloatArray) -> FloatArray:
    """Return on which side of each line a point lies, as a signed area, shape (M,)."""
    along, away = end - start, point - start
    return np.asarray(along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0])


def points_outside(points: FloatArray, shape: Sequence[int]) -> int:
    """Return how many points lie outside an image of (rows, columns), half a pixel of edge included."""
    limits = np.asarray(shape[:2], dtype=np.float64) - 0.5
    return int(np.any((points < -0.5) | (points > limits), axis=1).sum())
