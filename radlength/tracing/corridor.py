"""The corridor a trace may run in, straightened: a strip of the image with the canal upright in it.

Rows of the strip run along a smooth curve through the clicks, columns across it, both in millimetres, so that
nothing that follows depends on the size of a pixel or on how much image lies around.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.likely_curve import likely_curve

FloatArray = NDArray[np.float64]
Strip = NDArray[np.float32]

FINE_MM = 0.05
"""Step of the strip, along and across."""
EVERY = 3
"""Every third row of the strip is a row of the evidence."""
ROW_MM = FINE_MM * EVERY
HALF_MM = 1.5
"""Half width of the corridor: where the canal may be."""
WIDE_MM = 3.0
"""Half width of the strip: what is looked at to judge what stands out."""
ACROSS_MM: FloatArray = np.arange(-30.0, 31.0) * FINE_MM
"""Where across the corridor a canal may run."""
WIDE_ACROSS_MM: FloatArray = np.arange(-60.0, 61.0) * FINE_MM


@dataclass(frozen=True, slots=True, eq=False)
class Corridor:
    """A smooth curve through clicks, with a direction across it at every step.

    Parameters
    ----------
    points_mm
        (row, column) of the curve every 0.05 mm, shape (M, 2), M = 3 k + 1.
    across
        Unit vector across it at each of them, shape (M, 2).
    anchors_mm
        The clicks, shape (N, 2).
    """

    points_mm: FloatArray
    across: FloatArray
    anchors_mm: FloatArray

    @property
    def rows_mm(self) -> FloatArray:
        """Points of the curve at the rows of the evidence, shape (k + 1, 2)."""
        return self.points_mm[::EVERY]

    @property
    def rows_across(self) -> FloatArray:
        """Unit vectors across the curve at the rows of the evidence, shape (k + 1, 2)."""
        return self.across[::EVERY]

    def offsets(self) -> tuple[NDArray[np.intp], FloatArray, FloatArray]:
        """Return for every click its row, how far across it lies, and its distance from the curve, in mm."""
        rows, across = self.rows_mm, self.rows_across
        away = self.anchors_mm[:, None] - rows[None]
        distance = np.hypot(away[..., 0], away[..., 1])
        nearest = distance.argmin(axis=1)
        nearest[0], nearest[-1] = 0, len(rows) - 1
        nearest = np.maximum.accumulate(nearest)
        which = np.arange(len(nearest))
        side = (away[which, nearest] * across[nearest]).sum(axis=1)
        return nearest, side, distance[which, nearest]


def corridor_through(anchors_mm: FloatArray) -> Corridor:
    """Return the corridor round the smooth curve through clicks, shape (N, 2), in millimetres."""
    curve = likely_curve(anchors_mm)
    steps = EVERY * max(int(np.ceil(curve.length / ROW_MM)), 4)
    return corridor_along(curve.resample(steps + 1), anchors_mm)


def corridor_along(points_mm: FloatArray, anchors_mm: FloatArray) -> Corridor:
    """Return the corridor round a smooth line, points every 0.05 mm, shape (3 k + 1, 2)."""
    along = np.gradient(points_mm, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    return Corridor(points_mm, np.column_stack([-along[:, 1], along[:, 0]]), anchors_mm)


def straighten(stored: NDArray[np.generic], corridor: Corridor, side_mm: FloatArray) -> Strip:
    """Return the strip of an image round a corridor, shape (M, 121), in stored grey values.

    Parameters
    ----------
    stored
        Stored grey values, shape (rows, columns).
    corridor
        Where.
    side_mm
        (row, column) size of a pixel in millimetres.

    Notes
    -----
    Bilinear between pixels. Beyond the edge of the image its last row or column goes on.
    """
    import cv2  # noqa: PLC0415

    middle, across = corridor.points_mm / side_mm, corridor.across / side_mm
    ends = middle + across * WIDE_ACROSS_MM[[0, -1], None, None]
    (top, bottom), (left, right) = (_span(ends[..., axis], stored.shape[axis]) for axis in (0, 1))
    part = stored[top:bottom, left:right].astype(np.float32)
    middle, across = (middle - (top, left)).astype(np.float32), across.astype(np.float32)
    places = WIDE_ACROSS_MM.astype(np.float32)
    rows, columns = (middle[:, axis, None] + across[:, axis, None] * places for axis in (0, 1))
    strip = cv2.remap(part, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(strip, dtype=np.float32)


def _span(places: FloatArray, count: int) -> tuple[int, int]:
    """Return the first pixel needed and the one after the last."""
    first = min(max(int(places.min()) - 1, 0), count - 1)
    return first, min(max(int(places.max()) + 3, first + 1), count)
