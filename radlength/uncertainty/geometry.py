"""What one flat shadow cannot show: how far the true length may lie from a perfectly marked one.

Two facts make the arms unequal. Between the tip of an instrument and the apex the canal may bend along the beam;
its shadow is then short and the estimate **too short** (upper arm). The instrument itself may lie more along the
beam than the end of the canal; the scale is then too large and the estimate **too long** (lower arm, the dangerous
side). Both grow with the gap, the part of the canal the instrument did not reach.

The constants are assumptions, stated here and tried on simulated scenes in the validation study: 700 teeth gave
curves up to 75 degrees, 9 % of the canals over 35 (Schäfer et al. 2002), and one view cannot tell how much of a
curve lies along the beam.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

HIDDEN_ANGLE_DEG = 52.0
"""Angle to the detector of the canal beyond the tip that one view cannot exclude, in degrees (upper arm)."""

SLANT_DEG = 22.0
"""Angle to the detector of the instrument against the canal beyond it, in degrees (lower arm)."""

BESIDE_LOW, BESIDE_HIGH = 0.045, 0.10
"""95 % arms beside the tooth as shares of the length: not parallel, tilted, and the canal bent along the beam."""

HEADER_LOW, HEADER_HIGH = 0.03, 0.14
"""95 % arms of a header scale as shares of the length: nothing in the image corrects tilt or bend."""

DEPTH_MM = 3.0
"""Depth between two canals of one tooth, in millimetres (parallax tables of the tube shift use 3 mm)."""

SOURCE_DISTANCE_MM = 250.0
"""Shortest usual distance from source to tooth, in millimetres."""


@dataclass(frozen=True, slots=True)
class Arms:
    """95 % arms of the geometry in millimetres, and why.

    Parameters
    ----------
    low_mm, high_mm
        How far the true length may lie below and above the estimate.
    words
        The assumption, as one phrase.
    """

    low_mm: float
    high_mm: float
    words: str


def in_canal_arms(gap_mm: float) -> Arms:
    """Return the arms where the reference lies in the canal it measures.

    Parameters
    ----------
    gap_mm
        From the tip to the apex along the canal at the scale of the instrument, in millimetres; negative where
        the tip is beyond.

    Notes
    -----
    A piece of canal at an angle a to the detector throws a shadow of cos a of its length: the true gap is the
    shadow over cos a. An instrument at that angle makes the gap beyond it look longer by the same reasoning.
    """
    gap = abs(gap_mm)
    return Arms(
        low_mm=gap * (1 - math.cos(math.radians(SLANT_DEG))),
        high_mm=gap * (1 / math.cos(math.radians(HIDDEN_ANGLE_DEG)) - 1),
        words=f"gap of {gap:.1f} mm, up to {HIDDEN_ANGLE_DEG:g}° along the beam not excluded",
    )


def beside_arms(length_mm: float) -> Arms:
    """Return the arms where the reference lies beside the tooth."""
    return Arms(
        BESIDE_LOW * length_mm,
        BESIDE_HIGH * length_mm,
        "reference beside the tooth, perhaps not parallel; bend along the beam not excluded",
    )


def borrowed_arms(length_mm: float) -> Arms:
    """Return the arms where the reference lies in another canal of the tooth.

    The depth term is the parallax of `DEPTH_MM` at `SOURCE_DISTANCE_MM` (similar triangles).
    """
    depth = length_mm * DEPTH_MM / SOURCE_DISTANCE_MM
    beside = beside_arms(length_mm)
    return Arms(
        math.hypot(beside.low_mm, depth),
        math.hypot(beside.high_mm, depth),
        f"reference borrowed from another canal, up to {DEPTH_MM:g} mm nearer or farther, perhaps not parallel",
    )


def header_arms(length_mm: float) -> Arms:
    """Return the arms where only the header of the image gives a scale."""
    return Arms(
        HEADER_LOW * length_mm,
        HEADER_HIGH * length_mm,
        "no reference in the image: tilt of tooth and detector and bend along the beam not corrected",
    )
