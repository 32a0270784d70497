"""Where a length may end, and how far each landmark lies from the radiographic apex. No length is measured here."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from radlength.errors import TradeError
from radlength.trade.anatomy import CONSTRICTION_MM, anatomical_band
from radlength.trade.status import Status

Landmark = Literal["radiographic apex", "apical foramen", "apical constriction"]
"""What a length is measured to."""


@dataclass(frozen=True, slots=True)
class OffsetPart:
    """One step from the radiographic apex towards a landmark.

    Parameters
    ----------
    name
        What it is; the same name is the same unknown distance in every length of a canal.
    value_mm
        Usual distance in millimetres.
    u_mm
        Standard uncertainty for a single root, in millimetres.
    source
        Where the figures come from.
    status
        How well they are known.
    """

    name: str
    value_mm: float
    u_mm: float
    source: str
    status: Status


def landmarks() -> tuple[Landmark, ...]:
    """Return the landmarks a length may end at."""
    return get_args(Landmark)


def landmark_offset(landmark: str, tooth: str) -> tuple[OffsetPart, ...]:
    """Return how far short of the radiographic apex a landmark of a tooth usually lies, part by part.

    Parameters
    ----------
    landmark
        One of :func:`landmarks`.
    tooth
        ISO 3950.

    Returns
    -------
    tuple of OffsetPart
        Empty for the radiographic apex itself; their sum is the distance.

    Raises
    ------
    TradeError
        No such landmark, or a deciduous tooth, for which there is no table.

    Notes
    -----
    Foramen: mean of the tooth group (Martos 2009); a single root is taken to lie anywhere from 0 to twice that mean,
    rectangular, because no spread was read. Constriction: 0.75 mm further, rectangular ±0.25 mm (Williams 2007).

    Examples
    --------
    >>> [round(part.value_mm, 2) for part in landmark_offset("apical constriction", "46")]
    [0.8, 0.75]
    >>> [round(part.u_mm, 3) for part in landmark_offset("apical constriction", "46")]
    [0.462, 0.144]
    """
    if landmark not in landmarks():
        raise TradeError(
            f"landmark {landmark!r} is unknown", f"one of: {', '.join(landmarks())}", code="landmark-unknown"
        )
    if landmark == "radiographic apex":
        return ()
    band = anatomical_band(tooth)
    if band is None:
        raise TradeError(
            f"no table says how far the {landmark} of tooth {tooth} lies from the radiographic apex",
            "permanent teeth",
            "compare lengths that end at one landmark",
            code="landmark-no-table",
        )
    foramen = OffsetPart(
        "foramen to radiographic apex",
        band.foramen_mm,
        band.foramen_mm / math.sqrt(3),
        "mean: Martos et al. 2009, Int Endod J; limits 0 to twice the mean assumed",
        "computed",
    )
    if landmark == "apical foramen":
        return (foramen,)
    low, high = CONSTRICTION_MM
    constriction = OffsetPart(
        "constriction to foramen",
        (low + high) / 2,
        (high - low) / 2 / math.sqrt(3),
        "Williams 2007, J Endod, introduction",
        "read",
    )
    return (foramen, constriction)
