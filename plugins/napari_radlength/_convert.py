"""Between marks of the session and data of layers. Pure: no Qt, napari for types only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from radlength.errors import MarkError
from radlength.geometry import fit_curve

if TYPE_CHECKING:
    from radlength.geometry import Point
    from radlength.imaging import Radiograph

FloatArray = NDArray[np.float64]

IMAGE_KEY = "radlength_radiograph"
"""Metadata key under which an image layer carries its Radiograph."""

CASE_KEY = "radlength_case"
"""Metadata key under which an image layer names the case or the folder it was opened with."""

ROLE_KEY = "radlength_role"
"""Metadata key of the layers that show the session."""

SESSION_KEY = "radlength_session"
"""Metadata key under which those layers carry it."""


def points_array(path_px: tuple[Point, ...]) -> FloatArray:
    """Return marks as layer data, shape (N, 2), also where there are none."""
    return np.asarray(path_px, dtype=np.float64).reshape(-1, 2)


def curve_line(path_px: tuple[Point, ...], count: int = 80) -> FloatArray | None:
    """Return the smooth curve through marks for drawing, or ``None`` while there is none."""
    try:
        return fit_curve(path_px).resample(count)
    except MarkError:
        return None


def steps_of(line: FloatArray, *, dash: int = 0, arrow: float = 0.0) -> FloatArray:
    """Return a line as vectors, shape (M, 2, 2): where each starts, and how far it goes.

    Parameters
    ----------
    line
        (row, column) points, shape (N, 2).
    dash
        Every so many steps one is left out; 0 for none.
    arrow
        Length of an arrow head at two thirds of the line, in pixels, that tells its direction; 0 for none.

    Examples
    --------
    >>> steps_of(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 3.0]])).tolist()
    [[[0.0, 0.0], [2.0, 0.0]], [[2.0, 0.0], [0.0, 3.0]]]
    """
    steps = np.stack([line[:-1], np.diff(line, axis=0)], axis=1)
    if dash:
        steps = steps[np.arange(len(steps)) % (dash + 1) != dash]
    if arrow and len(line) > 2:
        steps = np.concatenate([steps, _arrow_head(line, arrow)])
    return steps


def _arrow_head(line: FloatArray, size: float) -> FloatArray:
    at = 2 * (len(line) - 1) // 3
    along = line[at + 1] - line[at]
    along = along / max(float(np.hypot(*along)), 1e-9)
    across = np.array([-along[1], along[0]])
    return np.array([[line[at], size * (side * 0.5 * across - along)] for side in (-1, 1)])


def nearest_place(path: FloatArray, point: FloatArray) -> tuple[int, float]:
    """Return the segment of a polyline that lies nearest to a point, and its distance from the point.

    Examples
    --------
    >>> nearest_place(np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]), np.array([11.0, 4.0]))
    (1, 1.0)
    """
    start, step = path[:-1], np.diff(path, axis=0)
    part = ((point - start) * step).sum(1) / np.maximum((step**2).sum(1), 1e-12)
    away = np.hypot(*(point - start - np.clip(part, 0, 1)[:, None] * step).T)
    best = int(away.argmin())
    return best, float(away[best])


def image_layer(radiograph: Radiograph) -> tuple[NDArray[np.float32], dict[str, Any], str]:
    """Return layer data for a radiograph: grey for the eye, bright where radiopaque, pixels in their true shape."""
    scale = radiograph.scale
    tall = 1.0 if not (scale.row_mm and scale.column_mm) else scale.row_mm / scale.column_mm
    settings = {
        "name": radiograph.name,
        "colormap": "gray",
        "contrast_limits": (0.0, 1.0),
        "scale": (tall, 1.0),
        "metadata": {IMAGE_KEY: radiograph},
    }
    return radiograph.display(), settings, "image"
