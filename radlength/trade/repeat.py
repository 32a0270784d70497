"""Published rules for accepting a length-confirmation image, each by its name. None is a default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from radlength.trade.choose import check_distance, choose
from radlength.trade.status import Status

Verdict = Literal["accept", "adjust", "repeat"]

VERDICT_WORDS: dict[Verdict, str] = {
    "accept": "the length stands",
    "adjust": "move the stop",
    "repeat": "move the stop, then take the image again",
}
"""What each verdict asks for."""

_EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class RepeatRule:
    """When a tip is near enough to the apex.

    Parameters
    ----------
    name
        Plain name it is selected by.
    source
        Who published it.
    accept_mm
        Gap from and up to which the length stands, both included, in millimetres.
    repeat_over_mm
        Gap above which the image is taken again, in millimetres.
    status
        How well the limits are known.
    """

    name: str
    source: str
    accept_mm: tuple[float, float]
    repeat_over_mm: float
    status: Status

    def classify(self, gap_mm: float) -> Verdict:
        """Return the verdict on a gap in millimetres, negative where the tip is beyond the apex.

        A tip beyond the apex is always taken back and shown again.

        Raises
        ------
        TradeError
            If the gap is not finite.
        """
        gap = check_distance(gap_mm)
        if gap < -_EDGE or gap > self.repeat_over_mm + _EDGE:
            return "repeat"
        low, high = self.accept_mm
        return "accept" if low - _EDGE <= gap <= high + _EDGE else "adjust"


_RULES = (
    RepeatRule("tip within 1 mm", "Grossman's Endodontic Practice, 13th ed.", (0.5, 1.0), 1.0, "read"),
    RepeatRule("tip within 3 mm", "textbook teaching, from memory", (0.5, 1.0), 3.0, "from memory"),
)


def repeat_rules() -> tuple[str, ...]:
    """Return the names of the rules."""
    return tuple(rule.name for rule in _RULES)


def repeat_rule(name: str) -> RepeatRule:
    """Return a rule by its name.

    Raises
    ------
    TradeError
        If there is no such rule.

    Examples
    --------
    >>> [repeat_rule("tip within 1 mm").classify(gap) for gap in (0.4, 0.5, 1.0, 1.01, -0.2)]
    ['adjust', 'accept', 'accept', 'repeat', 'repeat']
    """
    return choose(_RULES, name, kind="repeat rule", code="rule-unknown")
