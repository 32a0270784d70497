"""An error budget: independent contributions to one length, and the interval they make together.

First order (JCGM 100:2008, 5.1): standard uncertainties add in quadrature. The 95 % arms keep the shape of the
largest rectangular contribution, because a length known only to limits has no tails, and the two arms of the
geometry apart, because a shadow shortens more easily than it lengthens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from radlength.quantity import Quantity

Z95 = 1.959963984540054
"""97.5 % quantile of the normal distribution."""

Distribution = Literal["normal", "rectangular", "two arms"]


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One contribution to the uncertainty of a length.

    Parameters
    ----------
    name
        What it comes from.
    u_mm
        Standard uncertainty it gives the length, in millimetres.
    distribution
        ``"normal"``, ``"rectangular"``, or ``"two arms"`` with `low_mm` and `high_mm`.
    basis
        Where the figure comes from, in words.
    low_mm, high_mm
        95 % arms of a ``"two arms"`` line: how far the true length may lie below and above the estimate.
    """

    name: str
    u_mm: float
    distribution: Distribution
    basis: str
    low_mm: float = 0.0
    high_mm: float = 0.0


def two_arms(name: str, low_mm: float, high_mm: float, basis: str) -> BudgetLine:
    """Return a line with unequal 95 % arms.

    Each side is half of a normal distribution, taken with equal probability; its root mean square about the
    estimate counts as standard uncertainty.
    """
    u_mm = math.hypot(low_mm, high_mm) / (Z95 * math.sqrt(2))
    return BudgetLine(name, u_mm, "two arms", basis, low_mm, high_mm)


@dataclass(frozen=True, slots=True)
class Budget:
    """Independent contributions and their sum.

    Examples
    --------
    >>> budget = Budget((BudgetLine("a", 0.3, "normal", ""), BudgetLine("b", 0.4, "normal", "")))
    >>> round(budget.u_mm, 3), [round(share) for share in budget.shares_percent]
    (0.5, [36, 64])
    >>> [round(arm, 2) for arm in budget.arms_mm]
    [0.98, 0.98]
    """

    lines: tuple[BudgetLine, ...]

    @property
    def u_mm(self) -> float:
        """Combined standard uncertainty in millimetres."""
        return math.sqrt(sum(line.u_mm**2 for line in self.lines))

    @property
    def shares_percent(self) -> tuple[float, ...]:
        """Share of each line in the variance, in percent, in the order of the lines."""
        total = sum(line.u_mm**2 for line in self.lines)
        return tuple(100 * line.u_mm**2 / total if total else 0.0 for line in self.lines)

    @property
    def arms_mm(self) -> tuple[float, float]:
        """Lower and upper arm of the 95 % interval in millimetres."""
        widest = max(
            (line for line in self.lines if line.distribution == "rectangular"),
            key=lambda line: line.u_mm,
            default=None,
        )
        half_width = widest.u_mm * math.sqrt(3) if widest else 0.0
        plain = sum(
            line.u_mm**2 for line in self.lines if line.distribution != "two arms" and line is not widest
        )
        low = plain + sum((line.low_mm / Z95) ** 2 for line in self.lines)
        high = plain + sum((line.high_mm / Z95) ** 2 for line in self.lines)
        return (
            half_width_95(math.sqrt(low), half_width),
            half_width_95(math.sqrt(high), half_width),
        )

    def around(self, value_mm: float) -> Quantity:
        """Return a value in millimetres with the uncertainty and the two arms of this budget."""
        low, high = self.arms_mm
        return Quantity(value_mm, self.u_mm, value_mm - low, value_mm + high)


def half_width_95(sd: float, limit: float) -> float:
    """Return the 95 % half-width of a normal plus a rectangular error.

    Parameters
    ----------
    sd
        Standard deviation of the normal part.
    limit
        Half-width of the rectangular part. Same unit.

    Notes
    -----
    The distribution function of the sum is closed; its 97.5 % point is found by bisection and Newton steps.

    Examples
    --------
    >>> round(half_width_95(1.0, 0.0), 4), round(half_width_95(0.0, 1.0), 4)
    (1.96, 0.95)
    """
    if limit <= 1e-12 * max(sd, 1e-300):
        return Z95 * sd
    if sd <= 1e-3 * limit:
        return 0.95 * limit

    def cumulative(x: float) -> float:
        return (_ramp((x + limit) / sd) - _ramp((x - limit) / sd)) * sd / (2 * limit)

    low, high = 0.0, limit + Z95 * sd
    x = math.hypot(0.95 * limit, Z95 * sd)
    for _ in range(60):
        miss = cumulative(x) - 0.975
        low, high = (low, x) if miss > 0 else (x, high)
        slope = (_normal((x + limit) / sd) - _normal((x - limit) / sd)) / (2 * limit)
        step = x - miss / slope if slope > 0 else low
        new = step if low < step < high else (low + high) / 2
        if abs(new - x) <= 1e-12 * high:
            return new
        x = new
    return x


def _normal(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))


def _ramp(z: float) -> float:
    return z * _normal(z) + math.exp(-z * z / 2) / math.sqrt(2 * math.pi)
