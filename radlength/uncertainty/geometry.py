"""What one flat shadow cannot show: how far the true length may lie from a perfectly marked one.

Two facts make the arms unequal. Between the tip of an instrument and the apex the canal may bend along the beam;
its shadow is then short and the estimate **too short** (upper arm). The instrument itself may lie more along the
beam than the end of the canal; the scale is then too large and the estimate **too long** (lower arm, the dangerous
side). Both grow with the gap, the part of the canal the instrument did not reach.

The bend that cannot be excluded: 700 teeth gave curves up to 75 degrees, 9 % over 35 (Schäfer et al. 2002); the
arms allow `UNSEEN_BEND_DEG` over the last `BEND_LENGTH_MM`. It is a stated assumption, not a measurement: see the
validation study for what it covers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

UNSEEN_BEND_DEG = 60.0
"""Bend along the beam that one view cannot exclude, in degrees."""

BEND_LENGTH_MM = 7.0
"""Length at the end of a canal over which it bends, in millimetres."""

SLANT_DEG = 15.0
"""Angle between instrument and detector that the lower arm allows, in degrees."""

BESIDE_SHARE = 0.055
"""95 % arm of a reference beside the tooth, as a share of the length: not parallel, tilted, at another depth."""

DEPTH_MM = 3.0
"""Depth between two canals of one tooth, in millimetres (tube-shift table, parallax of 3 mm)."""

SOURCE_DISTANCE_MM = 250.0
"""Shortest usual distance from source to tooth, in millimetres."""

HEADER_SHARE = 0.07
"""95 % arm of a header scale as a share of the length: tilt and angulation that nothing in the image corrects."""


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


def unseen_shortening(gap_mm: float) -> float:
    """Return by how many millimetres the shadow of a gap may be short.

    Parameters
    ----------
    gap_mm
        Shadow of the gap at the scale of the instrument, in millimetres; negative where the tip is beyond.

    Notes
    -----
    The canal turns evenly by `UNSEEN_BEND_DEG` over `BEND_LENGTH_MM`; the mean cosine over the last g
    millimetres is (sin b - sin(b - b g / 7)) / (b g / 7). The true gap g with that shadow is found by fixed-point
    steps.
    """
    shadow = abs(gap_mm)
    if shadow == 0:
        return 0.0
    true = shadow
    for _ in range(30):
        true = shadow / mean_cosine(true)
    return true - shadow


def mean_cosine(last_mm: float, bend_deg: float = UNSEEN_BEND_DEG) -> float:
    """Return the mean cosine of the angle to the detector over the last millimetres of a bent canal.

    Examples
    --------
    >>> round(mean_cosine(7.0, 60.0), 4), round(mean_cosine(1e-6, 60.0), 4)
    (0.827, 0.5)
    """
    bend = math.radians(bend_deg)
    share = min(last_mm / BEND_LENGTH_MM, 1.0)
    turned = bend * share
    inside = (math.sin(bend) - math.sin(bend - turned)) / turned if turned > 1e-9 else math.cos(bend)
    straight = max(last_mm - BEND_LENGTH_MM, 0.0)
    return (inside * min(last_mm, BEND_LENGTH_MM) + straight) / last_mm


def in_canal_arms(gap_mm: float) -> Arms:
    """Return the arms where the reference lies in the canal it measures.

    Parameters
    ----------
    gap_mm
        From the tip to the apex along the canal at the scale of the instrument, in millimetres.
    """
    return Arms(
        low_mm=abs(gap_mm) * (1 - math.cos(math.radians(SLANT_DEG)) + 0.1),
        high_mm=unseen_shortening(gap_mm),
        words=f"gap of {abs(gap_mm):.1f} mm; a bend of {UNSEEN_BEND_DEG:g}° along the beam is not excluded",
    )


def beside_arms(length_mm: float) -> Arms:
    """Return the arms where the reference lies beside the tooth."""
    side = BESIDE_SHARE * length_mm
    return Arms(
        side,
        math.hypot(side, unseen_shortening(BEND_LENGTH_MM)),
        "reference beside the tooth: not parallel to it, at another depth; bend along the beam not excluded",
    )


def borrowed_arms(length_mm: float) -> Arms:
    """Return the arms where the reference lies in another canal of the tooth."""
    depth = length_mm * DEPTH_MM / SOURCE_DISTANCE_MM
    beside = beside_arms(length_mm)
    return Arms(
        math.hypot(beside.low_mm, depth),
        math.hypot(beside.high_mm, depth),
        f"reference borrowed from another canal: up to {DEPTH_MM:g} mm nearer or farther, not parallel",
    )


def header_arms(length_mm: float) -> Arms:
    """Return the arms where only the header of the image gives a scale."""
    side = HEADER_SHARE * length_mm
    return Arms(
        side,
        math.hypot(side, unseen_shortening(BEND_LENGTH_MM)),
        "no reference in the image: tilt of tooth and detector not corrected",
    )
