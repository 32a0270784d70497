"""What one flat shadow cannot show: how far the true length may lie from a perfectly marked one.

Two facts make the arms unequal. Between the tip of an instrument and the apex the canal may bend along the beam;
its shadow is then short and the estimate **too short** (upper arm). The instrument itself may lie more along the
beam than the end of the canal; the scale is then too large and the estimate **too long** (lower arm, the dangerous
side). Both grow with the gap, the part of the canal the instrument did not reach.

The constants are assumptions, stated here and tried on simulated scenes in the validation study. Published curvature
says what cannot be excluded: of 1163 canals 9 % bent more than 35 degrees and one 75 degrees (Schäfer et al. 2002),
and one view cannot tell how much of a bend lies along the beam. A bend lies near the apex, so the first tenths of a
gap may run almost along the beam: the upper arm starts above zero. Beyond 1 mm, where the published repeat rule asks
for another image anyway, it is deliberately generous.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

HIDDEN_MM = ((0.0, 0.44), (1.05, 0.565), (1.5, 1.25))
"""Upper arm of a gap: (gap, arm) in millimetres, straight lines between, level beyond. Fitted to simulated scenes
whose canals turn up to 60 degrees along the beam near the apex."""

SLANT_DEG = 20.0
"""Angle to the detector of the instrument against the canal beyond it, in degrees (lower arm)."""

BEYOND_DEG = 52.0
"""Angle to the detector of an instrument beyond the apex that one view cannot exclude, in degrees (lower arm)."""

STRAIGHT_DEG = 25.0
"""Angle to the detector that remains possible where a person states that the canal does not bend along the beam: the
tooth itself may lean (upper arm)."""

BESIDE_LOW, BESIDE_HIGH = 0.047, 0.11
"""95 % arms beside the tooth as shares of the length: not parallel, tilted, and the canal bent along the beam."""

BORROWED_LOW = 0.07
"""As `BESIDE_LOW`, for a reference in another canal of the tooth: roots part by some degrees along the beam. With 0.047
the true length lay below the interval 2.8 times in 100 where the other canal leans 5 degrees more, 8.3 at 8 degrees
(simulated apart from this project's own scenes)."""

HEADER_LOW, HEADER_HIGH = 0.0, 0.155
"""95 % arms of a header scale as shares of the length: nothing in the image corrects tilt or bend, which
shorten a shadow; what could lengthen it lies within the range of magnifications."""

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


def in_canal_arms(gap_mm: float, *, straight: bool = False) -> Arms:
    """Return the arms where the reference lies in the canal it measures.

    Parameters
    ----------
    gap_mm
        From the tip to the apex along the canal at the scale of the instrument, in millimetres; negative where
        the tip is beyond.
    straight
        Whether a person states that the canal does not bend along the beam.

    Notes
    -----
    A piece of canal at an angle a to the detector throws a shadow of cos a of its length: the true gap is the
    shadow over cos a. An instrument at that angle makes the gap beyond it look longer by the same reasoning.

    Examples
    --------
    >>> round(in_canal_arms(1.0).high_mm, 2), round(in_canal_arms(1.0, straight=True).high_mm, 2)
    (0.57, 0.1)
    """
    gap = abs(gap_mm)
    slant, hidden = gap * _shorter(SLANT_DEG), gap * _longer(BEYOND_DEG)
    if straight:
        low, high = (slant, gap * _longer(STRAIGHT_DEG))[:: 1 if gap_mm >= 0 else -1]
    elif gap_mm < 0:
        low, high = hidden, HIDDEN_MM[0][1]
    else:
        gaps, arms = zip(*HIDDEN_MM, strict=True)
        low, high = slant, float(np.interp(gap, gaps, arms))
    doubt = "stated not to bend along the beam" if straight else "a bend along the beam not excluded"
    return Arms(low, high, f"gap of {gap_mm:.1f} mm, {doubt}")


def _shorter(angle_deg: float) -> float:
    """Return the share by which a shadow is shorter than what throws it."""
    return 1 - math.cos(math.radians(angle_deg))


def _longer(angle_deg: float) -> float:
    """Return the share by which the true length exceeds its shadow."""
    return 1 / math.cos(math.radians(angle_deg)) - 1


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
        math.hypot(BORROWED_LOW * length_mm, depth),
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
