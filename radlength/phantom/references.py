"""Things of known size beside the tooth: wire with beads, rod, ball, and the marker they make together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.curve import rotation
from radlength.phantom.scene import Ball, Marker, Rod

if TYPE_CHECKING:
    from radlength.phantom.draw import Draw

FloatArray = NDArray[np.float64]

BESIDE_MM = 8.5
"""Distance of the wire from the tooth's axis."""

_BEADS = np.array([[0.0, y, 0.0] for y in (-10.0, -5.0, 0.0, 5.0, 10.0)])
_BALL = np.array([[-1.0, -14.0, 0.0]])
_MORE = np.array([[-1.8, -3.0, 6.0], [-1.8, 8.0, 6.0], [2.4, 2.5, 0.0]])
MARKER_SHAPE_MM: FloatArray = np.vstack([_BEADS, _BALL, _MORE])
"""The marker in its own frame: five beads of the wire, the ball's centre, three beads more, two 6 mm off."""


def references(numbers: Draw) -> tuple[Rod, Rod, Ball, Marker]:
    """Return wire, rod, ball and marker of a scene.

    Parameters
    ----------
    numbers
        The numbers drawn for the scene.
    """
    turn = rotation(numbers.reference_tilt_deg, numbers.reference_lean_deg)
    away = np.array([BESIDE_MM, 0.0, numbers.reference_depth_mm])
    points = MARKER_SHAPE_MM @ turn.T + away
    wire = Rod("wire with beads", points[:5], 20.0, 0.35, 1.0)
    collars = np.array([[0.0, y, 0.0] for y in np.arange(-10.0, 10.1, 2.0)])
    other = np.array([-BESIDE_MM, 0.0, numbers.reference_depth_mm])
    rod = Rod("graduated rod", collars @ turn.T + other, 20.0, 0.7, 1.1)
    return wire, rod, Ball(points[5]), Marker(MARKER_SHAPE_MM, points, 6)
