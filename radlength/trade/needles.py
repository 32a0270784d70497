"""Outer diameters of needle tubing by gauge (ISO 9626): millimetres first, the gauge is only a label."""

from __future__ import annotations

import re
from dataclasses import dataclass

from radlength.errors import TradeError
from radlength.trade.status import Status

NEEDLE_SOURCE = "ISO 9626"
NEEDLE_STATUS: Status = "from memory"
"""The limits were not looked up; the nominal diameters were, in a public chart of needle gauges."""

NEEDLE_NOTE = "Real needles differ from the nominal size: measure the needle (Boutsioukis et al. 2007)."

_TUBING: dict[int, tuple[float, float, float]] = {
    21: (0.82, 0.800, 0.830),
    23: (0.64, 0.600, 0.673),
    25: (0.51, 0.500, 0.530),
    27: (0.41, 0.400, 0.420),
    28: (0.36, 0.349, 0.370),
    29: (0.34, 0.324, 0.351),
    30: (0.31, 0.298, 0.320),
    31: (0.26, 0.254, 0.267),
}
"""Gauge: nominal, smallest and largest outer diameter in millimetres."""

SMALLEST_MM, LARGEST_MM = 0.18, 3.4
"""Scope of ISO 9626:2016: 34 to 10 gauge."""


@dataclass(frozen=True, slots=True)
class Needle:
    """A needle by its outer diameter.

    Parameters
    ----------
    diameter_mm
        Nominal or measured outer diameter in millimetres.
    low_mm, high_mm
        Limits of it; both the diameter where it was measured.
    gauge
        The gauge it is sold by, or ``None``.
    """

    diameter_mm: float
    low_mm: float
    high_mm: float
    gauge: int | None = None

    @property
    def label(self) -> str:
        """Millimetres first: ``0.31 mm (30 gauge)``."""
        return f"{self.diameter_mm:.2f} mm" + (f" ({self.gauge} gauge)" if self.gauge else "")


def needle_gauges() -> tuple[int, ...]:
    """Return the gauges there are, thickest first."""
    return tuple(_TUBING)


def needle(text: str) -> Needle:
    """Return a needle by its outer diameter in millimetres, or by its gauge with a G.

    Raises
    ------
    TradeError
        Neither, or a needle there is none of.

    Examples
    --------
    >>> needle("30G").label, needle("0.3").label
    ('0.31 mm (30 gauge)', '0.30 mm')
    """
    word = text.strip()
    match = re.fullmatch(r"(\d{1,2}) ?[gG]", word)
    if match:
        gauge = int(match.group(1))
        if gauge not in _TUBING:
            raise TradeError(
                f"a needle of {gauge} gauge",
                f"one of: {', '.join(f'{g}G' for g in _TUBING)}, or millimetres",
                "measure it and give millimetres",
                code="needle-gauge",
            )
        return Needle(*_TUBING[gauge], gauge=gauge)
    try:
        diameter = float(word)
    except ValueError:
        diameter = float("nan")
    if not SMALLEST_MM <= diameter <= LARGEST_MM:
        remedy = f"write {int(diameter)}G for a gauge" if diameter in _TUBING else "measure it with a caliper"
        raise TradeError(
            f"a needle of {word!r}",
            f"an outer diameter of {SMALLEST_MM} to {LARGEST_MM} mm ({NEEDLE_SOURCE}), or a gauge such as 30G",
            remedy,
            code="needle-diameter",
        )
    return Needle(diameter, diameter, diameter)
