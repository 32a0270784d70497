"""Which of two things is nearer to the tube: the same-lingual opposite-buccal rule, and the depth behind it."""

from __future__ import annotations

import math
from typing import Literal

Side = Literal["buccal", "lingual", "undecided"]
"""``buccal`` is toward the tube, ``lingual`` away from it."""


def named_side(canal: str) -> Side:
    """Return the side a canal's name tells, as names are commonly given; ``"undecided"`` where it tells none.

    Examples
    --------
    >>> [named_side(name) for name in ("MB", "MB2", "DL", "P", "B", "D", "single")]
    ['buccal', 'buccal', 'lingual', 'lingual', 'buccal', 'undecided', 'undecided']
    """
    letters = canal.strip().upper().rstrip("0123456789 ")
    if letters in ("B", "MB", "DB"):
        return "buccal"
    return "lingual" if letters in ("L", "ML", "DL", "P", "MP", "DP") else "undecided"


def side_by_rule(moved: float, tube_sign: float, *, u: float = 0.0) -> Side:
    """Tell the side of an object from how it moved against a reference when the tube moved.

    Parameters
    ----------
    moved
        Columns the object moved against the reference, shifted less straight image; any unit.
    tube_sign
        +1 where the tube went toward larger columns, -1 toward smaller.
    u
        Standard uncertainty of `moved`, same unit; within twice of it nothing is said.

    Notes
    -----
    Same lingual, opposite buccal: what moves with the tube is lingual (Clark 1910; Richards 1953, 1980).

    Examples
    --------
    >>> side_by_rule(0.8, +1.0), side_by_rule(0.8, -1.0), side_by_rule(0.8, 1.0, u=0.5)
    ('lingual', 'buccal', 'undecided')
    """
    if abs(moved) <= 2 * u or moved == 0:
        return "undecided"
    return "lingual" if moved * tube_sign > 0 else "buccal"


def separation_mm(depth_mm: float, shift_deg: float) -> float:
    """Return how far two things apart in depth move apart on the image when the tube is shifted.

    Parameters
    ----------
    depth_mm
        Distance along the beam, millimetres.
    shift_deg
        Horizontal shift of the tube.

    Notes
    -----
    Parallel beam, first image along the beam: dx = dz tan(shift).

    Examples
    --------
    >>> round(separation_mm(3.0, 20.0), 3)
    1.092
    """
    return depth_mm * math.tan(math.radians(shift_deg))
