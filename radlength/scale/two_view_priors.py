"""What counts as likely before anything is fitted: where the tube stands, how detector and canal may lie.

Stated assumptions, not measurements: common practice, no source, but for the distances of long and short cones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

TOOTH_DEPTH_MM = 8.0
"""Usual distance of the middle of a tooth from the detector."""


@dataclass(frozen=True, slots=True)
class Priors:
    """Standard deviations, millimetres and radians, of what is not marked.

    Parameters
    ----------
    source_columns_mm, source_rows_mm
        Foot of the source off the middle of the marks.
    distance_mm, u_distance_mm, u_distance_change_mm
        Source to detector, and its change between the images.
    u_depth_mm
        Middle of the tooth to detector, about `TOOTH_DEPTH_MM`.
    turn_rad, move_mm
        Turn, and move along its normal, of the detector between the images.
    u_vertical_rad
        Change of the vertical tube angle between the images.
    declared
        Whether the declared angle is needed to solve at all.
    """

    source_columns_mm: float
    source_rows_mm: float
    distance_mm: float
    u_distance_mm: float
    u_distance_change_mm: float
    u_depth_mm: float
    turn_rad: float
    move_mm: float
    u_vertical_rad: float
    declared: bool


MARKER_PRIORS = Priors(
    200.0, 200.0, 300.0, 60.0, 60.0, 5.0, math.radians(15), 5.0, math.radians(15), declared=False
)
"""A marker that is not flat tells where the tube stood: everything else stays wide. At tilt 25 degrees the
source may be 127 mm off the detector's normal, and a narrow prior would bend the result."""

DECLARED_PRIORS = Priors(
    45.0, 70.0, 300.0, 40.0, 20.0, 4.0, math.radians(3), 1.5, math.radians(3), declared=True
)
"""Without such a marker the declared angle stands in for it."""

DECLARED_WITHOUT_ANGLE_DEG = (20.0, 8.0)
"""Shift and its standard uncertainty where nobody said how large it was (10 to 35 degrees advised)."""

BEND_PRIOR = (0.5, 2.0)
"""Standard deviation of the curvature times the canal's length, at its start and at its end: 2 is 38 degrees over the
last third. 700 teeth gave curves up to 75 degrees, 9 % over 35 (Schäfer et al. 2002)."""
