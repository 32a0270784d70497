"""Published rules for the end of a root filling: they disagree, so each has a name and none is a default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from radlength.trade.choose import check_distance, choose
from radlength.trade.status import Status

FillVerdict = Literal["over", "near the apex", "adequate", "short"]
"""``near the apex``: not beyond it, but nearer than the rule calls adequate."""

_EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class FillRule:
    """Where a root filling should end, as a distance short of the radiographic apex.

    Parameters
    ----------
    name
        Plain name it is selected by.
    source
        Who published it.
    low_mm, high_mm
        Adequate from and up to, both included, in millimetres.
    status
        How well the limits are known.
    """

    name: str
    source: str
    low_mm: float
    high_mm: float
    status: Status

    def classify(self, short_mm: float) -> FillVerdict:
        """Return the verdict on a distance short of the apex in millimetres, negative where it is beyond.

        Raises
        ------
        TradeError
            If the distance is not finite.
        """
        short = check_distance(short_mm)
        if short < -_EDGE:
            return "over"
        if short < self.low_mm - _EDGE:
            return "near the apex"
        return "adequate" if short <= self.high_mm + _EDGE else "short"


_RULES = (
    FillRule("fill 0.5 to 2 mm short", "Int J Dent 2015:135120, Table 2", 0.5, 2.0, "read"),
    FillRule("fill 0 to 2 mm short", "Liang et al. 2012, Clin Oral Investig", 0.0, 2.0, "read"),
    FillRule("fill 0 to 3 mm short", "Sci World J 2014:751274, Table 1", 0.0, 3.0, "read"),
)


def fill_rules() -> tuple[str, ...]:
    """Return the names of the rules."""
    return tuple(rule.name for rule in _RULES)


def fill_rule(name: str) -> FillRule:
    """Return a rule by its name.

    Raises
    ------
    TradeError
        If there is no such rule.

    Examples
    --------
    >>> [fill_rule(name).classify(2.5) for name in fill_rules()]
    ['short', 'short', 'adequate']
    """
    return choose(_RULES, name, kind="fill rule", code="rule-unknown")
