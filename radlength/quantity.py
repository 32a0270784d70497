"""A measured value with its uncertainty, its two arms, and how it is written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from numbers import Real
from typing import Literal

from radlength.errors import RadlengthError

Direction = Literal["nearest", "down"]
"""Ways to round a length for the stop."""

_MOST_STEPS = 1e6
"""Above this the allowance for the last bits of a number is smaller than those bits."""

_SAME_STEP = 1e-6
"""Of a step: so near to a multiple an end differs from it by the last bits of a sum alone."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value, its standard uncertainty and its 95 % interval.

    Parameters
    ----------
    value
        Best estimate, in `unit`.
    u
        Standard uncertainty (one standard deviation), in `unit`.
    low, high
        Ends of the 95 % interval, in `unit`. The arms may be unequal.
    unit
        ``"mm"``, or ``"1"`` for a ratio.

    Raises
    ------
    RadlengthError
        If a part is not finite, the interval does not hold the value, or the unit is another.

    Examples
    --------
    >>> length = Quantity(value=20.71, u=0.22, low=20.31, high=21.18)
    >>> length.value_mm
    20.71
    >>> print(length)
    20.7 mm (20.3–21.2)
    >>> print(Quantity(value=1.052, u=0.004, low=1.044, high=1.060, unit="1"))
    1.052 (1.044–1.060)
    """

    value: float
    u: float
    low: float
    high: float
    unit: Literal["mm", "1"] = "mm"

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.value, self.u, self.low, self.high))):
            raise RadlengthError(
                "a quantity has a part that is not a number",
                "value, uncertainty and interval must be finite",
                code="quantity-not-finite",
            )
        if self.u < 0 or not self.low <= self.value <= self.high:
            raise RadlengthError(
                f"interval {self.low}–{self.high} does not hold the value {self.value} (u {self.u})",
                "low <= value <= high and u >= 0",
                code="quantity-interval",
            )
        if self.unit not in ("mm", "1"):
            raise RadlengthError(
                f"a quantity in {self.unit!r}", "'mm', or '1' for a ratio", code="quantity-unit"
            )

    def _in_mm(self, number: float) -> float:
        if self.unit != "mm":
            raise RadlengthError(
                f"a ratio of {self.value:.4g} has no millimetres",
                "read .value, .u, .low or .high",
                code="quantity-unit",
            )
        return number

    @property
    def value_mm(self) -> float:
        """Best estimate in millimetres."""
        return self._in_mm(self.value)

    @property
    def u_mm(self) -> float:
        """Standard uncertainty in millimetres."""
        return self._in_mm(self.u)

    @property
    def low_mm(self) -> float:
        """Lower end of the 95 % interval in millimetres."""
        return self._in_mm(self.low)

    @property
    def high_mm(self) -> float:
        """Upper end of the 95 % interval in millimetres."""
        return self._in_mm(self.high)

    @property
    def lower_arm(self) -> float:
        """Distance from the low end to the value, in `unit`."""
        return self.value - self.low

    @property
    def upper_arm(self) -> float:
        """Distance from the value to the high end, in `unit`."""
        return self.high - self.value

    def shifted(self, by: float) -> Quantity:
        """Return the quantity moved by an exact amount, uncertainty unchanged."""
        return Quantity(self.value + by, self.u, self.low + by, self.high + by, self.unit)

    def __str__(self) -> str:
        places, suffix = (1, " mm") if self.unit == "mm" else (3, "")
        low, high = outward(self.low, self.high, places)
        return f"{self.value:z.{places}f}{suffix} ({low:z.{places}f}–{high:z.{places}f})"

    def as_dict(self) -> dict[str, float | str]:
        """Return the quantity as plain data, the unit in every key."""
        tail = "_mm" if self.unit == "mm" else ""
        return {
            f"value{tail}": self.value,
            f"u{tail}": self.u,
            f"low{tail}": self.low,
            f"high{tail}": self.high,
            "coverage": "95 %",
        }


def outward(low: float, high: float, places: int) -> tuple[float, float]:
    """Return the ends of an interval as they are shown: the low one rounded down, the high one up.

    Parameters
    ----------
    low, high
        Finite ends, in any unit.
    places
        Decimal places that are shown.

    Notes
    -----
    What is shown holds all of the interval: rounded to the nearest, an interval as wide as the last place can be shown
    as none, and one that reaches beyond an apex as one that does not. Rounding in one direction is usual where safety
    or a limit asks for it (ISO 80000-1, annex B; from memory). An end within a millionth of a step of a multiple counts
    as that multiple.

    Examples
    --------
    >>> outward(20.449, 20.451, 1), outward(-0.04, 0.2, 1)
    ((20.4, 20.5), (-0.1, 0.2))
    """
    steps = 10.0**places
    return math.floor(low * steps + _SAME_STEP) / steps, math.ceil(high * steps - _SAME_STEP) / steps


def round_for_stop(length_mm: float, *, direction: Direction, step_mm: float = 0.5) -> float:
    """Round a length to what a stop can be set to.

    Parameters
    ----------
    length_mm
        Exact length in millimetres.
    direction
        ``"nearest"`` (a half step goes down, away from the apex), or ``"down"``.
    step_mm
        Smallest step of the ruler in millimetres, positive.

    Returns
    -------
    float
        A multiple of `step_mm`. Common practice, no source: a stop is set to 0.5 mm. A length within a
        thousand-millionth of a step of a multiple counts as that multiple.

    Raises
    ------
    RadlengthError
        If length or step is not finite, the step is not positive or lost beside the length, or the direction
        is unknown.

    Examples
    --------
    >>> round_for_stop(20.74, direction="nearest"), round_for_stop(20.76, direction="nearest")
    (20.5, 21.0)
    >>> round_for_stop(20.99, direction="down"), round_for_stop(20.75, direction="nearest")
    (20.5, 20.5)
    """
    given: tuple[object, object] = length_mm, step_mm
    numbers = all(isinstance(one, Real) for one in given)
    steps = length_mm / step_mm if numbers and step_mm > 0 else math.nan
    if not (abs(steps) < _MOST_STEPS and math.isfinite(step_mm)):
        raise RadlengthError(
            f"cannot round {length_mm} mm to a step of {step_mm} mm",
            "a finite length and a positive step that is not lost beside it",
            code="rounding",
        )
    if direction not in ("nearest", "down"):
        raise RadlengthError(
            f"rounding direction {direction!r} is unknown", "'nearest' or 'down'", code="rounding-direction"
        )
    whole = math.ceil(steps - 0.5 - 1e-9) if direction == "nearest" else math.floor(steps + 1e-9)
    return whole * step_mm
