"""Paths and curves: arc length, the pinned fit, curvature. Knows neither images nor millimetres."""

from radlength.geometry.assisted import CARRIED, Assist, check_assists
from radlength.geometry.curve import Curve, fit_curve
from radlength.geometry.path import (
    AnyPath,
    Point,
    as_points,
    check_path,
    crosses_itself,
    points_outside,
    polyline_length,
    straight_length,
)

__all__ = [
    "CARRIED",
    "AnyPath",
    "Assist",
    "Curve",
    "Point",
    "as_points",
    "check_assists",
    "check_path",
    "crosses_itself",
    "fit_curve",
    "points_outside",
    "polyline_length",
    "straight_length",
]
