"""One figure of a shape with its uncertainty, its unit and the method that defines it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.quantity import outward

Unit = Literal["deg", "mm", "1/mm", "1"]


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured figure.

    Parameters
    ----------
    name
        What it is.
    method
        The method that defines it: figures of two methods are not interchangeable.
    source
        Who published the method.
    value, u, low, high
        Best estimate, standard uncertainty, and ends of the 95 % interval, in `unit`.
    unit
        Of the four.

    Examples
    --------
    >>> print(Reading("angle", "Schneider", "Schneider 1971", 24.6, 2.0, 20.8, 28.9, "deg"))
    angle (Schneider) 24.6 deg (20.8–28.9)
    """

    name: str
    method: str
    source: str
    value: float
    u: float
    low: float
    high: float
    unit: Unit

    @property
    def figures(self) -> str:
        """Value and interval in words, the ends outward."""
        places = {"deg": 1, "mm": 2, "1/mm": 3, "1": 2}[self.unit]
        unit = "" if self.unit == "1" else f" {self.unit}"
        low, high = outward(self.low, self.high, places)
        return f"{self.value:z.{places}f}{unit} ({low:z.{places}f}–{high:z.{places}f})"

    def __str__(self) -> str:
        return f"{self.name} ({self.method}) {self.figures}"

    def as_dict(self) -> dict[str, object]:
        """Return the figure as plain data."""
        return {
            "name": self.name,
            "method": self.method,
            "source": self.source,
            "value": self.value,
            "u": self.u,
            "low": self.low,
            "high": self.high,
            "unit": self.unit,
            "coverage": "95 %",
        }


def reading(
    name: str, method: str, source: str, value: float, draws: NDArray[np.float64], unit: Unit
) -> Reading:
    """Return a figure whose uncertainty is that of draws around it, widened to hold the value itself."""
    low, high = np.quantile(draws, [0.025, 0.975])
    return Reading(
        name,
        method,
        source,
        value,
        float(draws.std(ddof=1)),
        min(float(low), value),
        max(float(high), value),
        unit,
    )
