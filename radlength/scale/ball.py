"""Scale from the shadow of a ball: an ellipse, with its centre beside the shadow of the ball's centre.

A ball tells magnification, and by its shadow's shape how obliquely the beam met the detector; it does not tell how a
tooth beside it is tilted. Alone it is the worst reference after none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from radlength.errors import MarkError, ScaleError
from radlength.geometry.path import FloatArray

LEAST_DIAMETER_MM, MOST_DIAMETER_MM = 1.0, 20.0
SDD_RANGE_MM = (200.0, 400.0)
"""Source to detector, from short to long cones (20 and 40 cm)."""
MOST_AXIS_RATIO = 1.6
NOT_PARALLEL_SHARE = 0.035
"""Relative standard uncertainty of a ball's scale along a tooth: 150 simulated teeth with tilted detectors gave a bias
of -0.27 mm and a standard deviation of 0.63 mm on 21 mm, ball alone."""


@dataclass(frozen=True, slots=True)
class Ellipse:
    """An ellipse on the detector.

    Parameters
    ----------
    centre
        (x, y), x as columns run.
    major, minor
        Semi-axes, same unit.
    angle_deg
        Direction of the major axis, from x toward y.
    """

    centre: tuple[float, float]
    major: float
    minor: float
    angle_deg: float

    def __post_init__(self) -> None:
        numbers = (*self.centre, self.major, self.minor, self.angle_deg)
        if not all(map(math.isfinite, numbers)) or not 0 < self.minor <= self.major:
            raise MarkError(
                f"an ellipse with semi-axes {self.major} and {self.minor}",
                "finite, the major not smaller than the minor, both above 0",
                "mark the outline again",
                code="ball-ellipse",
            )

    def diameter_along(self, direction_deg: float) -> float:
        """Return the ellipse's diameter through its centre along a direction, in its unit."""
        turn = math.radians(direction_deg - self.angle_deg)
        return 2 / math.hypot(math.cos(turn) / self.major, math.sin(turn) / self.minor)


@dataclass(frozen=True, slots=True)
class BallScale:
    """What the shadow of a ball tells.

    Parameters
    ----------
    mm_per_unit
        Millimetres in a plane through the ball's centre parallel to the detector, for one millimetre on it.
    u_share
        Relative standard uncertainty for a tooth beside it.
    u_marks_share
        The part of it that comes from the marks and the unknown distance of the source.
    height_mm
        Height of the ball's centre over the detector at the middle of the distance range.
    obliquity_deg
        Angle of the beam through the ball to the detector's normal.
    """

    mm_per_unit: float
    u_share: float
    u_marks_share: float
    height_mm: float
    obliquity_deg: float


def ball_shadow(centre_mm: ArrayLike, diameter_mm: float, source_mm: ArrayLike) -> Ellipse:
    """Return the exact shadow of a ball on the plane z = 0.

    Parameters
    ----------
    centre_mm, source_mm
        (x, y, z) of the ball and of the focal spot, z over the detector.
    diameter_mm
        Diameter of the ball.

    Notes
    -----
    A point q of the plane is on the rim where the ray from the source s touches the ball: with w = q - s and
    v = c - s, (w.v)^2 = (v.v - r^2) (w.w). With w = (x, y, -s_z) that is a conic, q' A q = 0.

    Examples
    --------
    On the axis a ball of radius r at height h seen from d is a circle of radius d r / sqrt((d - h)^2 - r^2):

    >>> shadow = ball_shadow((0, 0, 10), 5.0, (0, 0, 300))
    >>> f"{shadow.major:.6f} {300 * 2.5 / (290**2 - 2.5**2) ** 0.5:.6f}"
    '2.586303 2.586303'
    """
    centre, source = np.asarray(centre_mm, dtype=np.float64), np.asarray(source_mm, dtype=np.float64)
    radius = diameter_mm / 2
    way = centre - source
    cone = np.outer(way, way) - (float(way @ way) - radius**2) * np.eye(3)
    lift = np.array([[1.0, 0.0, -source[0]], [0.0, 1.0, -source[1]], [0.0, 0.0, -source[2]]])
    return conic_ellipse(lift.T @ cone @ lift)


def conic_ellipse(conic: FloatArray) -> Ellipse:
    """Return the ellipse of a conic matrix, (x, y, 1) A (x, y, 1)' = 0.

    Raises
    ------
    ScaleError
        The conic is no ellipse.
    """
    block = conic[:2, :2]
    values = np.zeros(2)
    if np.linalg.det(block) > 0:
        centre = np.linalg.solve(block, -conic[:2, 2])
        level = float(conic[2, 2] + conic[:2, 2] @ centre)
        values, vectors = np.linalg.eigh(-block / level)
    if values[0] <= 0:
        raise ScaleError(
            "the shadow of the ball is no ellipse",
            "a ball between source and detector, the beam not along the detector",
            code="ball-not-ellipse",
        )
    major, minor = 1 / math.sqrt(values[0]), 1 / math.sqrt(values[1])
    angle = math.degrees(math.atan2(vectors[1, 0], vectors[0, 0])) % 180
    return Ellipse((float(centre[0]), float(centre[1])), major, minor, angle)


def fit_ellipse(outline: ArrayLike) -> Ellipse:
    """Return the ellipse nearest to points of an outline by algebraic distance, direct fit.

    Parameters
    ----------
    outline
        (x, y), shape (N, 2), N >= 6.

    Raises
    ------
    MarkError
        Too few points, or points that lie on no ellipse.

    Notes
    -----
    Fitzgibbon, Pilu and Fisher 1999, in the stable form of Halir and Flusser 1998.
    """
    points = np.asarray(outline, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 6 or not np.isfinite(points).all():
        raise MarkError(
            f"an outline of shape {points.shape}",
            "six finite points or more round the ball",
            "click round the ball",
            code="ball-outline",
        )
    middle = points.mean(axis=0)
    size = float(np.abs(points - middle).max()) or 1.0
    x, y = ((points - middle) / size).T
    squares = np.column_stack([x * x, x * y, y * y])
    rest = np.column_stack([x, y, np.ones_like(x)])
    try:
        back = -np.linalg.solve(rest.T @ rest, rest.T @ squares)
        reduced = squares.T @ squares + squares.T @ rest @ back
        swapped = np.array([reduced[2] / 2, -reduced[1], reduced[0] / 2])
        vectors = np.linalg.eig(swapped)[1].real
    except np.linalg.LinAlgError:
        vectors = np.zeros((3, 0))
    inside = 4 * vectors[0] * vectors[2] - vectors[1] ** 2 if vectors.size else np.empty(0)
    if not np.any(inside > 1e-12):
        raise MarkError(
            "an outline that is no ellipse",
            "points all round the ball",
            "click round the ball",
            code="ball-outline",
        )
    a, b, c = vectors[:, int(np.argmax(inside))]
    d, e, f = back @ (a, b, c)
    found = conic_ellipse(np.array([[a, b / 2, d / 2], [b / 2, c, e / 2], [d / 2, e / 2, f]]))
    return Ellipse(
        (found.centre[0] * size + middle[0], found.centre[1] * size + middle[1]),
        found.major * size,
        found.minor * size,
        found.angle_deg,
    )


def ball_scale(
    ellipse: Ellipse,
    diameter_mm: float,
    *,
    sdd_mm: tuple[float, float] = SDD_RANGE_MM,
    u_mark_mm: float = 0.03,
    along_deg: float | None = None,
) -> BallScale:
    """Return the scale of the shadow of a ball of known diameter.

    Parameters
    ----------
    ellipse
        Its shadow in millimetres on the detector.
    diameter_mm
        Its diameter.
    sdd_mm
        Range of the distance from source to detector, along the detector's normal.
    u_mark_mm
        Standard uncertainty of the semi-axes.
    along_deg
        Direction of the tooth on the image, from x toward y. Along it a tooth square to the beam casts a longer
        shadow than one parallel to the detector; the difference counts as a rectangular limit.

    Raises
    ------
    ScaleError
        An impossible diameter or distance, or a shadow smaller than the ball, or too long for one.

    Notes
    -----
    The minor axis lies across the plane of source, ball and normal. For a ball of radius r whose centre is e from
    the source's plane parallel to the detector, the shadow has b = d r / sqrt(e^2 - r^2) and
    a = b sqrt(1 + s^2 / (e^2 - r^2)), s the offset of the centre from the source's foot: exact, from the conic of
    the tangent cone. So e = sqrt((d r / b)^2 + r^2), the magnification is d / e, and the obliquity atan(s / e).

    A tooth that leans along the beam throws a shorter shadow and only ever reads too short; `u_share` is about the
    scale as given and does not cover that. Where simulated teeth leaned more than those behind `NOT_PARALLEL_SHARE`,
    lengths were 0.48 mm too short on average, and an interval of 1.96 u held 0.88 of the true ones.
    """
    low, high = sdd_mm
    if not (math.isfinite(diameter_mm) and LEAST_DIAMETER_MM <= diameter_mm <= MOST_DIAMETER_MM):
        raise ScaleError(
            f"a ball of {diameter_mm} mm",
            f"{LEAST_DIAMETER_MM:g} to {MOST_DIAMETER_MM:g} mm",
            code="ball-diameter",
        )
    if not (math.isfinite(low) and math.isfinite(high) and 50 <= low <= high <= 2000):
        raise ScaleError(
            f"a distance of {low} to {high} mm", "50 to 2000 mm, low first", code="ball-distance"
        )
    if not (math.isfinite(u_mark_mm) and u_mark_mm >= 0):
        raise ScaleError(f"marks known to {u_mark_mm} mm", "0 mm or more", code="ball-marks")
    radius = diameter_mm / 2
    if ellipse.minor < radius * 0.97 or ellipse.major > MOST_AXIS_RATIO * ellipse.minor:
        raise ScaleError(
            f"a shadow of {2 * ellipse.major:.2f} by {2 * ellipse.minor:.2f} mm for a ball of {diameter_mm:g} mm",
            "as wide as the ball or wider, and nearly round",
            "check the diameter, the pixel pitch and the outline",
            code="ball-shadow",
        )
    distance = (low + high) / 2
    reach = math.sqrt((distance * radius / ellipse.minor) ** 2 + radius**2)
    shares = [math.sqrt((radius / ellipse.minor) ** 2 + (radius / d) ** 2) for d in (low, distance, high)]
    marks = math.hypot(u_mark_mm / ellipse.minor, (shares[0] - shares[2]) / shares[1] / (2 * math.sqrt(3)))
    aside = math.sqrt(max((ellipse.major / ellipse.minor) ** 2 - 1, 0.0) * (reach**2 - radius**2))
    slant = 0.0
    if along_deg is not None:
        slant = (ellipse.diameter_along(along_deg) / (2 * ellipse.minor) - 1) / math.sqrt(3)
    return BallScale(
        mm_per_unit=shares[1],
        u_share=math.hypot(marks, NOT_PARALLEL_SHARE, slant),
        u_marks_share=marks,
        height_mm=distance - reach,
        obliquity_deg=math.degrees(math.atan2(aside, reach)),
    )
