"""Published classes of curvature: they disagree, so each has a name and none is a default."""

from __future__ import annotations

import math
from dataclasses import dataclass

from radlength.errors import TradeError
from radlength.trade.choose import choose
from radlength.trade.status import Status


@dataclass(frozen=True, slots=True)
class CurvatureRule:
    """Classes of an angle of curvature.

    Parameters
    ----------
    name
        Plain name it is selected by.
    source
        Who published it.
    method
        The angle it speaks of: angles of other methods are larger or smaller on the same canal.
    classes
        (name, from, up to) in degrees, both ends included where the next class does not start there.
    status
        How well the limits are known.
    """

    name: str
    source: str
    method: str
    classes: tuple[tuple[str, float, float], ...]
    status: Status

    def classify(self, angle_deg: float) -> str:
        """Return the class of an angle in degrees, or between which classes it lies: the gaps are the source's own.

        Raises
        ------
        TradeError
            An angle that is negative, not finite, or above 180 degrees.
        """
        if not (math.isfinite(angle_deg) and 0 <= angle_deg <= 180):
            raise TradeError(
                f"an angle of {angle_deg} degrees cannot be classed", "0 to 180 degrees", code="angle-range"
            )
        below = ""
        for name, low, high in self.classes:
            if angle_deg < low:
                return f"between classes ({below} and {name})" if below else f"below the first class ({name})"
            if angle_deg <= high:
                return name
            below = name
        return f"beyond the last class ({below})"

    def between(self, low_deg: float, high_deg: float) -> tuple[str, ...]:
        """Return every class that an interval of angles touches, in order, gaps included."""
        edges = [edge for _, low, high in self.classes for edge in (low, high)]
        inside = [edge for edge in edges if low_deg < edge < high_deg]
        tried = [low_deg, *(e + d for e in inside for d in (-1e-6, 0.0, 1e-6)), high_deg]
        return tuple(dict.fromkeys(self.classify(min(max(angle, 0.0), 180.0)) for angle in tried))


_RULES = (
    CurvatureRule(
        "Schneider 1971",
        "Schneider 1971, Oral Surg Oral Med Oral Pathol 32",
        "Schneider",
        (("straight", 0.0, math.nextafter(5.0, 0.0)), ("moderate", 10.0, 20.0), ("severe", 25.0, 70.0)),
        "read",
    ),
    CurvatureRule(
        "moderate from 10, severe from 26",
        "BMC Oral Health 2021, 01446",
        "Schneider",
        (("moderate", 10.0, 25.0), ("severe", 26.0, 70.0)),
        "read",
    ),
)


def curvature_rules() -> tuple[str, ...]:
    """Return the names of the rules."""
    return tuple(rule.name for rule in _RULES)


def curvature_rule(name: str) -> CurvatureRule:
    """Return a rule by its name.

    Raises
    ------
    TradeError
        If there is no such rule.

    Examples
    --------
    >>> rule = curvature_rule("Schneider 1971")
    >>> rule.classify(4.9), rule.classify(15), rule.classify(30)
    ('straight', 'moderate', 'severe')
    >>> rule.classify(22)
    'between classes (moderate and severe)'
    """
    return choose(_RULES, name, kind="curvature rule", code="rule-unknown")
