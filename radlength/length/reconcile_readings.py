"""A length of a canal as one method gives it, what it shares with others, and sums of such lengths.

What two lengths share (a ruler, a reference point, an unknown distance from landmark to apex) moves both alike: it
cancels in their difference and stays in their mean.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from radlength.errors import MarkError
from radlength.quantity import Quantity
from radlength.trade.end_points import Landmark, landmark_offset
from radlength.uncertainty.budget import Z95


@dataclass(frozen=True, slots=True)
class Reading:
    """A length of a canal by one method.

    Parameters
    ----------
    name
        What it is called beside the others.
    length
        The length with its interval.
    landmark, short_mm
        Where it ends: so many millimetres short of that landmark. Exact by definition.
    stage
        When in the work it was measured; two lengths of different stages may differ because the canal changed.
    shared
        Standard uncertainty in millimetres, signed, of each cause it may have in common with others, by name. They
        are part of `length`.
    images
        What it was measured on, by any name. Two lengths with an image in common share marks, scale and view: how much
        is not known, see :func:`radlength.length.reconcile_mean.combine`.

    Raises
    ------
    MarkError
        No uncertainty of its own, or more in common than it has.
    """

    name: str
    length: Quantity
    landmark: Landmark
    short_mm: float = 0.0
    shared: Mapping[str, float] = field(default_factory=dict)
    stage: str = ""
    images: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        common = math.sqrt(sum(u**2 for u in self.shared.values()))
        if not (self.length.u > 0 and common < self.length.u):
            raise MarkError(
                f"a length with an uncertainty of {self.length.u:g} mm, {common:g} mm of it shared with others",
                "an uncertainty above 0 of which a part is its own",
                "state the limit to which it was read",
                code="reading-uncertainty",
                subject=self.name,
            )

    @property
    def own_u_mm(self) -> float:
        """Standard uncertainty of its own, in millimetres."""
        return math.sqrt(self.length.u**2 - sum(u**2 for u in self.shared.values()))

    def own_arm_mm(self, *, upper: bool) -> float:
        """Return the 95 % arm of its own part, in millimetres: what is not shared, and at least its share."""
        arm = self.length.upper_arm if upper else self.length.lower_arm
        left = arm**2 - sum((Z95 * u) ** 2 for u in self.shared.values())
        return max(math.sqrt(max(left, 0.0)), arm * self.own_u_mm / self.length.u)


def to_apex(reading: Reading, tooth: str) -> Reading:
    """Return a length as it would be to the radiographic apex.

    The stated distance is added exactly; the distance from landmark to apex brings an uncertainty that every length
    to that landmark shares.

    Raises
    ------
    TradeError
        There is no table for the landmark of that tooth.

    Examples
    --------
    >>> locator = Reading("locator", Quantity(20.5, 0.2, 20.1, 20.9), "apical foramen", 0.5)
    >>> print(to_apex(locator, "46").length)
    21.8 mm (20.8–22.8)
    """
    shift, shared = reading.short_mm, dict(reading.shared)
    variance = 0.0
    for part in landmark_offset(reading.landmark, tooth):
        shift += part.value_mm
        shared[part.name] = shared.get(part.name, 0.0) + part.u_mm
        variance += part.u_mm**2
    old = reading.length
    value, extra = old.value + shift, Z95**2 * variance
    length = Quantity(
        value,
        math.sqrt(old.u**2 + variance),
        value - math.sqrt(old.lower_arm**2 + extra),
        value + math.sqrt(old.upper_arm**2 + extra),
    )
    return replace(reading, length=length, landmark="radiographic apex", short_mm=0.0, shared=shared)


def linear(readings: Sequence[Reading], weights: Sequence[float]) -> Quantity:
    """Return a weighted sum of lengths with its interval, what they share counted once.

    Parameters
    ----------
    readings
        With one end point.
    weights
        One for each; a negative one turns its arms round.

    Notes
    -----
    First order with covariances (JCGM 100:2008, 5.2). Each 95 % arm adds in quadrature.
    """
    value = sum(w * r.length.value for w, r in zip(weights, readings, strict=True))
    common: dict[str, float] = {}
    for weight, reading in zip(weights, readings, strict=True):
        for name, u in reading.shared.items():
            common[name] = common.get(name, 0.0) + weight * u
    shared = sum(u**2 for u in common.values())
    own = sum((w * r.own_u_mm) ** 2 for w, r in zip(weights, readings, strict=True))
    arms = [
        math.sqrt(
            sum(
                (w * r.own_arm_mm(upper=(w > 0) is upper)) ** 2
                for w, r in zip(weights, readings, strict=True)
            )
            + Z95**2 * shared
        )
        for upper in (False, True)
    ]
    return Quantity(value, math.sqrt(own + shared), value - arms[0], value + arms[1])


def covariance(readings: Sequence[Reading]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return the covariance matrix of lengths in square millimetres: own variances, and what is shared by name."""
    matrix = np.diag([reading.own_u_mm**2 for reading in readings])
    for name in {name for reading in readings for name in reading.shared}:
        column = np.array([reading.shared.get(name, 0.0) for reading in readings])
        matrix += np.outer(column, column)
    return matrix
