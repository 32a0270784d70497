"""Published rules for the end of a root filling: they disagree, so each has a name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from radlength.errors import TradeError

FillVerdict = Literal["over", "adequate", "short", "near the apex"]
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
        Adequate from and up to, both included.
    """

    name: str
    source: str
    low_mm: float
    high_mm: float

    def classify(self, short_mm: float) -> FillVerdict:
        """Return the verdict on a distance short of the apex, negative where the filling is beyond."""
        if short_mm < -_EDGE:
            return "over"
        if short_mm < self.low_mm - _EDGE:
            return "near the apex"
        return "adequate" if short_mm <= self.high_mm + _EDGE else "short"


_RULES = (
    FillRule("fill 0.5 to 2 mm short", "Int J Dent 2015:135120, Table 2", 0.5, 2.0),
    FillRule("fill 0 to 2 mm short", "Liang et al. 2012, Clin Oral Investig", 0.0, 2.0),
    FillRule("fill 0 to 3 mm short", "Sci World J 2014:751274, Table 1", 0.0, 3.0),
)


def fill_rules() -> tuple[str, ...]:
    """Return the names of the rules."""
    return tuple(rule.name for rule in _RULES)


def fill_rule(name: str) -> FillRule:
    """Return a rule by its name.

    Examples
    --------
    >>> [fill_rule(name).classify(2.5) for name in fill_rules()]
    ['short', 'short', 'adequate']
    """
    for rule in _RULES:
        if rule.name == name:
            return rule
    raise TradeError(
        f"fill rule {name!r} is unknown", f"one of: {', '.join(fill_rules())}", code="rule-unknown"
    )
