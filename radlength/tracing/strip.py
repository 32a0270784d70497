"""A strip of an image along any line, straightened as finely as an edge needs. Knows no canal and no instrument.

The corridor of a canal has fixed steps and a fixed width; objects are looked at in steps of their own.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.path import points_along, polyline_length

FloatArray = NDArray[np.float64]
Strip = NDArray[np.float32]


def steps(first_mm: float, last_mm: float, step_mm: float) -> FloatArray:
    """Return places at equal steps, both ends included, the steps counted from 0.

    Examples
    --------
    >>> steps(-0.1, 0.2, 0.1).round(3).tolist()
    [-0.1, 0.0, 0.1, 0.2]
    """
    return np.arange(round(first_mm / step_mm), round(last_mm / step_mm) + 1).astype(np.float64) * step_mm


def directions(line_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return unit vectors along and across a line at each of its points, shapes (N, 2).

    Parameters
    ----------
    line_mm
        (row, column) points, shape (N, 2), N >= 2, no two neighbours the same.
    """
    along = np.gradient(line_mm, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    return along, np.column_stack([-along[:, 1], along[:, 0]])


def last_part(line_mm: FloatArray, length_mm: float, step_mm: float) -> FloatArray:
    """Return points at equal steps over the last part of a line, its last point included, shape (N, 2).

    Parameters
    ----------
    line_mm
        (row, column) points, shape (M, 2).
    length_mm
        How much of it; all where it is shorter.
    step_mm
        Step between the points.

    Examples
    --------
    >>> last_part(np.array([[0.0, 0.0], [1.0, 0.0]]), 0.4, 0.2).round(3).tolist()
    [[0.6, 0.0], [0.8, 0.0], [1.0, 0.0]]
    """
    whole = polyline_length(line_mm)
    count = int(min(length_mm, whole) / step_mm + 1e-9)
    return points_along(line_mm, whole - step_mm * np.arange(count, -1, -1, dtype=np.float64))


def vertex(left: FloatArray, middle: FloatArray, right: FloatArray, most: float = 1.0) -> FloatArray:
    """Return by how many steps the tops of parabolas through three values lie beside the middle ones, `most` at most.

    Examples
    --------
    >>> vertex(*np.array([[1.0, 0.0], [2.0, 5.0], [2.0, 5.0]])).tolist()
    [0.5, 0.5]
    """
    bend = np.minimum(left - 2 * middle + right, -1e-9)
    return np.asarray(np.clip(0.5 * (left - right) / bend, -most, most))


def strip_along(
    stored: NDArray[np.generic], line_mm: FloatArray, across_mm: FloatArray, side_mm: FloatArray
) -> Strip:
    """Return grey values across a line, shape (N, M).

    Parameters
    ----------
    stored
        Stored grey values, shape (rows, columns).
    line_mm
        (row, column) points of the line, shape (N, 2).
    across_mm
        Places across it, shape (M,).
    side_mm
        (row, column) size of a pixel in millimetres, shape (2,).

    Notes
    -----
    Cubic between pixels (Keys 1981). Beyond the edge of the image its last row or column goes on.

    Examples
    --------
    >>> ramp = np.tile(np.arange(50.0), (60, 1))
    >>> line = np.column_stack([np.linspace(2, 4, 5), np.full(5, 2.0)])
    >>> strip_along(ramp, line, np.array([-0.1, 0.0, 0.1]), np.array([0.1, 0.1]))[2].round(3).tolist()
    [19.0, 20.0, 21.0]
    """
    _, across = directions(line_mm)
    places = line_mm[:, None] + across_mm[:, None] * across[:, None]
    return sample(stored, places, side_mm)


def sample(stored: NDArray[np.generic], places_mm: FloatArray, side_mm: FloatArray) -> Strip:
    """Return grey values at (row, column) places in millimetres, shape (..., 2), at most two axes before the last.

    Only the part of the image that is needed is turned into Float32.
    """
    import cv2  # noqa: PLC0415

    places = places_mm / side_mm
    flat = places.reshape(-1, 2)
    (top, left), (bottom, right) = (
        (int(at[0]), int(at[1])) for at in (flat.min(axis=0) - 2, flat.max(axis=0) + 4)
    )
    top, left = (min(max(at, 0), count - 1) for at, count in zip((top, left), stored.shape, strict=True))
    part = stored[top : max(bottom, top + 1), left : max(right, left + 1)].astype(np.float32)
    rows, columns = ((places[..., axis] - at).astype(np.float32) for axis, at in enumerate((top, left)))
    taken = cv2.remap(
        part, np.atleast_2d(columns), np.atleast_2d(rows), cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(taken.reshape(places.shape[:-1]), dtype=np.float32)


def inside(places_mm: FloatArray, shape: tuple[int, int], side_mm: FloatArray) -> NDArray[np.bool_]:
    """Return which places, shape (..., 2), lie on the image."""
    places = places_mm / side_mm
    return np.asarray(((places >= 0) & (places <= np.array(shape) - 1)).all(axis=-1))
