"""Transportation and centring at a level of a canal (Gambill et al. 1996), as projected on an image.

The authors define both on cross-sections; on a projection they are called *projected*, and the direction along the beam
is not seen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

SOURCE = "Gambill, Alder & del Rio 1996 (formulas from memory); projected, not on cross-sections"
ACCEPTABLE_MM = 0.1
ACCEPTABLE_SOURCE = "Madani 2014 calls less than 0.1 mm clinically acceptable"
OPPOSITE = {"left": "right", "right": "left", "upper": "lower", "lower": "upper"}
"""Sides of an image."""


@dataclass(frozen=True, slots=True)
class Transport:
    """One level.

    Parameters
    ----------
    at_mm
        Distance from the apical end along the first canal, millimetres.
    left_mm, right_mm
        What was removed on either side as one looks along the path from the crown, millimetres; negative where the
        wall now lies nearer.
    transportation_mm
        Left less right: 0 for none, positive toward the left.
    u_mm
        Standard uncertainty of it.
    centring
        Smaller over larger removal, 1 for equal; ``None`` where nothing was removed beyond the uncertainty.
    """

    at_mm: float
    left_mm: float
    right_mm: float
    transportation_mm: float
    u_mm: float
    centring: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return the level as plain data."""
        return {
            "mm_from_apical_end": self.at_mm,
            "removed_left_mm": self.left_mm,
            "removed_right_mm": self.right_mm,
            "projected_transportation_mm": self.transportation_mm,
            "u_mm": self.u_mm,
            "projected_centring_ratio": self.centring,
        }


def transport(
    at_mm: float,
    before_mm: tuple[float, float],
    after_mm: tuple[float, float],
    *,
    u_wall_mm: float = 0.0,
    u_shift_mm: float = 0.0,
) -> Transport:
    """Return transportation and centring ratio at a level.

    Parameters
    ----------
    at_mm
        The level.
    before_mm, after_mm
        What is left between canal and root edge, or distance to any fixed place beyond, (left, right), millimetres.
    u_wall_mm
        Standard uncertainty of one wall on one image.
    u_shift_mm
        Standard uncertainty of how the images lie on each other: it moves both walls together and counts twice.

    Notes
    -----
    (a1 - a2) - (b1 - b2), and the smaller over the larger of the two differences.

    Examples
    --------
    >>> found = transport(3, (1.20, 1.10), (1.05, 1.00))
    >>> round(found.transportation_mm, 3), round(found.centring, 3)
    (0.05, 0.667)
    >>> transport(3, (1.2, 1.1), (1.2, 1.1)).centring is None
    True
    """
    left, right = before_mm[0] - after_mm[0], before_mm[1] - after_mm[1]
    u = math.hypot(2 * u_wall_mm, 2 * u_shift_mm)
    small, large = sorted((max(left, 0.0), max(right, 0.0)))
    nothing = large <= max(2 * math.sqrt(2) * u_wall_mm, 1e-9)
    return Transport(at_mm, left, right, left - right, u, None if nothing else small / large)


def side_on_image(way: Sequence[float]) -> str:
    """Return the side of the image that a direction (down, across) points to.

    Examples
    --------
    >>> side_on_image((0.2, 0.9)), side_on_image((-0.9, 0.1))
    ('right', 'upper')
    """
    down, across = way
    if abs(across) >= abs(down):
        return "right" if across > 0 else "left"
    return "lower" if down > 0 else "upper"
