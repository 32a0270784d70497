"""How well a scale is known: its length's limit, its marks, and the geometry that one view does not show."""

from __future__ import annotations

import math

import numpy as np

from radlength.scale.model import Method, Scale
from radlength.uncertainty.budget import Z95
from radlength.uncertainty.geometry import Arms, beside_arms, borrowed_arms, header_arms
from radlength.uncertainty.marking import Marking

IN_CANAL_SHARE = 0.01
"""Relative standard uncertainty of the scale of an instrument for the canal it lies in: perspective along it and a
slant of its own. Common practice, no source."""


def marks_share(scale: Scale, marking: Marking) -> float:
    """Return what the marks of a reference add, as a share of the scale; 0 for a header.

    Parameters
    ----------
    scale
        The scale.
    marking
        Standard deviation of each landmark in millimetres in the tooth, per coordinate.

    Notes
    -----
    First order (JCGM 100:2008, 5.1) along the curve: a click counts by how the length answers to it.
    """
    if scale.curve is None:
        return 0.0
    sd = np.full(len(scale.curve.clicks), marking.path_mm)
    sd[0] = marking.tip_mm if scale.method == "beside" else marking.stop_mm
    sd[-1] = marking.tip_mm
    moved_mm = float(np.linalg.norm(scale.curve.length_gradient() * sd[:, None]))
    return moved_mm / (scale.mm_per_unit * scale.curve.length)


def outside_arms(method: Method, length_mm: float) -> Arms:
    """Return the arms of the geometry where no instrument in the canal gives the scale, in millimetres."""
    if method == "borrowed":
        return borrowed_arms(length_mm)
    if method in ("beside", "fiducial"):
        return beside_arms(length_mm)
    return header_arms(length_mm)


def geometry_share(scale: Scale) -> float:
    """Return what one view does not show of a scale, as a share of it: a standard uncertainty.

    Notes
    -----
    Root mean square of the two arms that a length of 1 mm has, see :func:`radlength.uncertainty.two_arms`.
    """
    if scale.method == "in_canal":
        return IN_CANAL_SHARE
    arms = outside_arms(scale.method, 1.0)
    return math.hypot(arms.low_mm, arms.high_mm) / (Z95 * math.sqrt(2))


def scale_share(scale: Scale, marking: Marking) -> float:
    """Return the standard uncertainty of a scale as a share of it, all causes together."""
    return math.hypot(scale.limit_share / math.sqrt(3), marks_share(scale, marking), geometry_share(scale))
