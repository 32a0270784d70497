"""Canals as curves in space whose length is known: the integral of a unit tangent.

Knows neither views nor pixels. Millimetres; (x, y, z) with x mesio-distal, y apical, z toward the tube.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import PhantomError

FloatArray = NDArray[np.float64]

INTERVALS = 128
"""Intervals a curve is integrated over."""


@dataclass(frozen=True, slots=True)
class Bends:
    """How a canal bends on its way from the crown to the foramen.

    Parameters
    ----------
    angle_deg
        Bend of the apical part, as an arc of constant curvature.
    azimuth_deg
        Direction of the bend: 0 across the film (+x), 90 along the beam, toward the tube (+z).
    bend_mm
        Length of the apical part that bends.
    s_bend_deg
        Largest deflection of the tangent half way, gone again at both ends: one bend there, one back.
    lean_x_deg, lean_z_deg
        Turn of the whole canal from the tooth's axis toward +x and +z.
    return_deg
        Part of the lean taken back along the canal, toward the tooth's axis.
    """

    angle_deg: float = 0.0
    azimuth_deg: float = 0.0
    bend_mm: float = 7.0
    s_bend_deg: float = 0.0
    lean_x_deg: float = 0.0
    lean_z_deg: float = 0.0
    return_deg: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class CanalCurve:
    """A canal from its reference point on the crown to the apical foramen.

    Parameters
    ----------
    name
        Name of the canal.
    length_mm
        Its length along the curve, exact.
    points_mm
        (x, y, z) at equal steps of arc length, shape (N, 3), from the reference point to the foramen.
    tangents
        Unit tangents there, shape (N, 3).
    bends
        What it was made from.
    """

    name: str
    length_mm: float
    points_mm: FloatArray
    tangents: FloatArray
    bends: Bends

    def at(self, s_mm: ArrayLike) -> FloatArray:
        """Return the points at arc lengths from the reference point, shape (N, 3).

        Parameters
        ----------
        s_mm
            Arc lengths in millimetres, shape (N,); beyond the ends the curve goes on straight.
        """
        s = np.atleast_1d(np.asarray(s_mm, dtype=np.float64))
        last = len(self.points_mm) - 1
        step = self.length_mm / last
        place = np.clip(s / step, 0, last)
        index = np.minimum(place.astype(np.intp), last - 1)
        t = (place - index)[:, None]
        p0, p1 = self.points_mm[index], self.points_mm[index + 1]
        m0, m1 = self.tangents[index] * step, self.tangents[index + 1] * step
        inner = (
            (1 + 2 * t) * (1 - t) ** 2 * p0
            + t * (1 - t) ** 2 * m0
            + t * t * (3 - 2 * t) * p1
            + t * t * (t - 1) * m1
        )
        over = (s - place * step)[:, None]
        ends = np.where(over < 0, self.tangents[0], self.tangents[-1])
        return np.asarray(inner + over * ends)


def canal_curve(name: str, start_mm: ArrayLike, length_mm: float, bends: Bends) -> CanalCurve:
    """Return the canal that starts at a point and has a length and bends.

    Parameters
    ----------
    name
        Name of the canal.
    start_mm
        (x, y, z) of the reference point, millimetres.
    length_mm
        Length along the curve, millimetres.
    bends
        Its bends.

    Raises
    ------
    PhantomError
        The length is not a positive number.

    Notes
    -----
    The position is the integral of the unit tangent (Simpson's rule over 128 intervals), so arc length is the
    parameter and the length exact by construction. Where a bend of 80 degrees over 2 mm begins, points lie up to
    0.0004 mm beside that integral; the curve through them is as long as stated to 0.00001 mm.

    Examples
    --------
    >>> canal = canal_curve("single", (0, 0, 0), 21.0, Bends(angle_deg=90, bend_mm=10))
    >>> canal.at([11.0, 21.0]).round(3)
    array([[ 0.   , 11.   ,  0.   ],
           [ 6.366, 17.366,  0.   ]])
    """
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise PhantomError(
            f"a canal of {length_mm} mm", "a length above 0 mm", code="phantom-length", subject=name
        )
    stations = np.linspace(0.0, length_mm, 2 * INTERVALS + 1)
    tangent = _tangents(stations, length_mm, bends)
    step = length_mm / INTERVALS
    pieces = (tangent[:-1:2] + 4 * tangent[1::2] + tangent[2::2]) * (step / 6)
    points = np.empty((INTERVALS + 1, 3))
    points[0] = start_mm
    points[1:] = points[0] + np.cumsum(pieces, axis=0)
    return CanalCurve(name, float(length_mm), points, np.ascontiguousarray(tangent[::2]), bends)


def _tangents(s_mm: FloatArray, length_mm: float, bends: Bends) -> FloatArray:
    share = s_mm / length_mm
    bend_mm = min(bends.bend_mm, length_mm)
    bend = math.radians(bends.angle_deg) * np.clip((s_mm - length_mm + bend_mm) / bend_mm, 0, 1)
    bend = bend + math.radians(bends.s_bend_deg) * np.sin(np.pi * share) ** 2
    azimuth = math.radians(bends.azimuth_deg)
    tangent = np.empty((len(s_mm), 3))
    side = np.sin(bend)
    tangent[:, 0] = side * math.cos(azimuth)
    tangent[:, 1] = np.cos(bend)
    tangent[:, 2] = side * math.sin(azimuth)
    if bends.lean_x_deg or bends.lean_z_deg:
        return _leaned(tangent, share, bends)
    return tangent


def _leaned(tangent: FloatArray, share: FloatArray, bends: Bends) -> FloatArray:
    size = math.hypot(bends.lean_x_deg, bends.lean_z_deg)
    left = np.radians(size - bends.return_deg * share**2)
    toward = np.array([bends.lean_x_deg, 0.0, bends.lean_z_deg]) / size
    across = tangent @ toward
    turned = tangent + np.outer(np.cos(left) * across + np.sin(left) * tangent[:, 1] - across, toward)
    turned[:, 1] = np.cos(left) * tangent[:, 1] - np.sin(left) * across
    return np.asarray(turned)


def rotation(about_x_deg: float, about_z_deg: float) -> FloatArray:
    """Return the matrix that turns column vectors about x, then about z, shape (3, 3)."""
    a, b = math.radians(about_x_deg), math.radians(about_z_deg)
    x = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    z = np.array([[math.cos(b), -math.sin(b), 0], [math.sin(b), math.cos(b), 0], [0, 0, 1]])
    return np.asarray(z @ x, dtype=np.float64)
