"""The two walls of a canal on an image, found across its path or marked by a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import gaussian_filter1d, map_coordinates, median_filter, spline_filter

from radlength.errors import MarkError
from radlength.geometry import check_path, fit_curve

FloatArray = NDArray[np.float64]
How = Literal["marked", "found"]
_FINE = 0.2
"""Step across the canal in pixels."""

_ALONG_PX = 1.0
EDGE_PX = 0.3
"""How far the steepest place may lie from the wall itself: blur, and the bend of the canal."""

ASTRAY = 0.35
"""How far a path may lie beside the canal, as a share of the widest half."""

NEAR = 0.6
"""Where two places are equally steep, the nearer one counts: a scratch beside the canal is no wall."""

FAINTEST = 3.0
"""How much steeper than noise both walls must be, in standard deviations."""


@dataclass(frozen=True, slots=True)
class Walls:
    """Both walls of a canal.

    Parameters
    ----------
    left_px, right_px
        (row, column) points from the crown to the apical end, shape (N, 2) each; left and right as one looks along
        the path.
    how
        ``"marked"`` by a person, or ``"found"`` on the image.
    u_px
        Standard uncertainty of a wall across the canal, pixels.
    """

    left_px: FloatArray
    right_px: FloatArray
    how: How
    u_px: float


def marked_walls(one_px: ArrayLike, other_px: ArrayLike, path_px: ArrayLike, *, u_px: float) -> Walls:
    """Return walls that a person marked, in either order, told apart by their side of the path.

    Raises
    ------
    MarkError
        Both on one side.
    """
    curve = fit_curve(path_px)
    along = curve.resample(200)
    ahead = np.gradient(along, axis=0)
    sides = []
    for path in (check_path(one_px), check_path(other_px)):
        nearest = [int(np.argmin(np.hypot(*(along - point).T))) for point in path]
        away = path - along[nearest]
        sides.append(float(np.sum(ahead[nearest, 0] * away[:, 1] - ahead[nearest, 1] * away[:, 0])))
    if sides[0] * sides[1] >= 0:
        raise MarkError(
            "both walls lie on the same side of the canal",
            "one wall on each side of the path",
            "check the walls and the path",
            code="walls-one-side",
        )
    paths = (np.asarray(one_px, dtype=float), np.asarray(other_px, dtype=float))
    left, right = paths if sides[0] > 0 else paths[::-1]
    return Walls(_downward(left, along), _downward(right, along), "marked", u_px)


def _downward(path: FloatArray, along: FloatArray) -> FloatArray:
    """Return a wall in the direction of the path."""
    first, last = (int(np.argmin(np.hypot(*(along - point).T))) for point in (path[0], path[-1]))
    return path if first <= last else path[::-1]


def find_walls(
    image: NDArray[Any], path_px: ArrayLike, *, widest_px: float, name: str = "the image"
) -> Walls:
    """Return the walls of a canal that is darker, or brighter, than what lies beside it.

    Parameters
    ----------
    image
        Grey, shape (rows, columns).
    path_px
        Along the canal, (row, column) pixels.
    widest_px
        Width the canal cannot exceed, pixels.
    name
        What the image is called in a refusal.

    Raises
    ------
    MarkError
        No two walls stand out.

    Notes
    -----
    The steepest place on either side of the path, to a part of a pixel, on profiles averaged along the canal, and a
    median along it. Of a round canal filled evenly this is the edge of the shadow.
    """
    grey = cv2.GaussianBlur(image.astype(np.float32), (0, 0), 1.0)
    spline = spline_filter(grey, order=3)
    curve = fit_curve(path_px)
    count = max(int(curve.length / _ALONG_PX), 8)
    middle = curve.resample(count)
    ahead = np.gradient(middle, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    across = np.arange(-widest_px, widest_px + _FINE / 2, _FINE)
    places = middle[:, None] + across[None, :, None] * left[:, None]
    profiles = map_coordinates(spline, np.moveaxis(places, -1, 0), order=3, prefilter=False, mode="nearest")
    profiles = gaussian_filter1d(profiles, 3.0 / _ALONG_PX, axis=0)
    slope = np.gradient(profiles, _FINE, axis=1)
    centre = np.abs(across) < widest_px * 0.1
    outside = np.abs(across) > widest_px * 0.8
    sign = 1.0 if np.median(profiles[:, centre]) < np.median(profiles[:, outside]) else -1.0
    noise = 1.4826 * float(np.median(np.abs(slope[:, outside] - np.median(slope[:, outside])))) + 1e-9
    walls, strengths = [], []
    ridge = _ridge(-sign * profiles, across, widest_px)
    away = across[None, :] - ridge[:, None]
    for side in (1, -1):
        steep = sign * side * slope / (1 + (away / (NEAR * widest_px)) ** 2)
        steep[side * away <= 0] = -np.inf
        at, height = _peaks(steep, across)
        walls.append(_steady(at))
        strengths.append(float(np.median(height)) / noise)
    if min(strengths) < FAINTEST:
        raise MarkError(
            f"no two walls of the canal stand out on {name}",
            "a canal clearly darker or brighter than what lies beside it",
            "mark both walls",
            code="walls-faint",
        )
    u_px = float(np.median([np.std(np.diff(wall)) for wall in walls])) + EDGE_PX
    placed = [middle + wall[:, None] * left for wall in walls]
    return Walls(placed[0], placed[1], "found", u_px)


def _ridge(bright: FloatArray, across: FloatArray, widest_px: float) -> FloatArray:
    """Return where the canal is at its clearest beside a path that may miss its middle, for each row."""
    near = np.abs(across) <= ASTRAY * widest_px
    smooth = gaussian_filter1d(gaussian_filter1d(bright, 2.0 / _FINE, axis=1), 6.0 / _ALONG_PX, axis=0)[
        :, near
    ]
    at = across[near][np.argmax(smooth - 1e-3 * np.ptp(smooth) * np.abs(across[near]) / widest_px, axis=1)]
    window = min(2 * (len(at) // 12) + 3, 41)
    return np.asarray(median_filter(at, window, mode="nearest"))


def _peaks(steep: FloatArray, across: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where each row is highest, to a part of a step, and how high."""
    at = np.clip(np.argmax(steep, axis=1), 1, steep.shape[1] - 2)
    rows = np.arange(len(at))
    low, high, after = (steep[rows, at + k] for k in (-1, 0, 1))
    bend = low - 2 * high + after
    usable = np.isfinite(bend) & (bend < 0)
    shift = np.where(usable, 0.5 * (low - after) / np.where(usable, bend, 1.0), 0.0)
    return across[at] + np.clip(shift, -1, 1) * _FINE, high


def _steady(wall: FloatArray) -> FloatArray:
    """Return a wall without places that jump: a running median, then a short mean."""
    window = min(2 * (len(wall) // 12) + 3, 21)
    return np.asarray(gaussian_filter1d(median_filter(wall, window, mode="nearest"), 2.0, mode="nearest"))
