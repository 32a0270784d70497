"""How a canal's length changes while it is prepared: the loss of length as a curve straightens, with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.length.reconcile_readings import Reading, covariance, linear
from radlength.quantity import Quantity, outward

SOURCE = "Davis, Marshall & Baumgartner 2002, J Endod"
"""That a curved canal reads shorter as it straightens (direction; the amount is not given there)."""


@dataclass(frozen=True, slots=True)
class LengthTrend:
    """The change of length along lengths in the order of the work.

    Parameters
    ----------
    names
        Of the lengths, first to last.
    change
        Fitted change from the first to the last; negative where the canal became shorter.
    findings
        A loss, or a gain, beyond the interval.
    """

    names: tuple[str, ...]
    change: Quantity
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the trend as plain data."""
        return {
            "values": list(self.names),
            "change": self.change.as_dict(),
            "findings": [finding.as_dict() for finding in self.findings],
        }


def length_trend(readings: Sequence[Reading], *, subject: str | None = None) -> LengthTrend:
    """Return the change over lengths by one method, from one reference point, to one end point.

    Parameters
    ----------
    readings
        In the order of the work.
    subject
        The canal, for the findings.

    Raises
    ------
    MarkError
        Fewer than two lengths, or lengths with different end points.

    Notes
    -----
    Straight line through the lengths against their place in the order, weighted with the covariance of what they
    share (generalised least squares, Aitken 1936); for two lengths the difference. What they share cancels.

    Examples
    --------
    >>> before = Reading("before flaring", Quantity(21.5, 0.15, 21.2, 21.8), "radiographic apex")
    >>> after = Reading("after flaring", Quantity(20.9, 0.15, 20.6, 21.2), "radiographic apex")
    >>> found = length_trend([before, after])
    >>> print(found.change, found.findings[0].code)
    -0.6 mm (-1.1–-0.1) length-lost
    """
    _check(readings, subject)
    place = np.linspace(0.0, 1.0, len(readings))
    design = np.column_stack([np.ones_like(place), place])
    inverse = np.linalg.inv(covariance(readings))
    weights = (np.linalg.inv(design.T @ inverse @ design) @ design.T @ inverse)[1]
    change = linear(readings, [float(weight) for weight in weights])
    names = tuple(reading.name for reading in readings)
    return LengthTrend(names, change, tuple(_doubts(change, subject)))


def _check(readings: Sequence[Reading], subject: str | None) -> None:
    if len(readings) < 2:
        raise MarkError(
            f"a trend of {len(readings)} length{'s' * (len(readings) != 1)}",
            "two lengths or more, by one method",
            code="trend-few",
            subject=subject,
        )
    if len({(reading.landmark, reading.short_mm) for reading in readings}) > 1:
        raise MarkError(
            "a trend of lengths that end at different points",
            "one end point",
            "bring them to one first",
            code="trend-ends",
            subject=subject,
        )


def _doubts(change: Quantity, subject: str | None) -> list[Finding]:
    low, high = outward(change.low, change.high, 1)
    if change.high < 0:
        return [
            Finding(
                "length-lost",
                f"The canal reads {-change.value:.1f} mm shorter than at first "
                f"({-high:z.1f}–{-low:.1f} mm): "
                f"a curved canal shortens as it straightens ({SOURCE}).",
                "Determine the length again before filling.",
                subject=subject,
            )
        ]
    if change.low > 0:
        return [
            Finding(
                "length-gained",
                f"The canal reads {change.value:.1f} mm longer than at first ({low:.1f}–{high:.1f} mm).",
                "Look for a changed reference point, a moved stop, or an instrument through the apex.",
                "serious",
                subject,
            )
        ]
    return []
