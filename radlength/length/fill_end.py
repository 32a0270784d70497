"""Where a master cone or a filling ends on an image, as every published rule says: they differ, none is chosen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from radlength.finding import Finding
from radlength.quantity import Quantity, outward
from radlength.trade import CAUTION, FillRule, FillVerdict, fill_rule, fill_rules


@dataclass(frozen=True, slots=True)
class FillReading:
    """What one rule says.

    Parameters
    ----------
    rule
        The rule, with its source.
    verdict
        On the measured distance.
    within
        Every verdict that the interval of the distance allows, the measured one first.
    """

    rule: FillRule
    verdict: FillVerdict
    within: tuple[FillVerdict, ...]


@dataclass(frozen=True, slots=True)
class FillEnd:
    """The end of a cone or a filling.

    Parameters
    ----------
    short
        Distance short of the marked radiographic apex; negative where it is beyond.
    readings
        One for each rule there is.
    findings
        Beyond the apex, rules that differ, an interval that spans an edge.
    """

    short: Quantity
    readings: tuple[FillReading, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data, with the caution."""
        rows = [
            {
                "rule": one.rule.name,
                "source": one.rule.source,
                "verdict": one.verdict,
                "within_interval": list(one.within),
            }
            for one in self.readings
        ]
        return {
            "short": self.short.as_dict(),
            "rules": rows,
            "findings": [finding.as_dict() for finding in self.findings],
            "caution": CAUTION,
        }


def read_fill_end(short: Quantity) -> FillEnd:
    """Return what every rule says of the end of a cone or filling.

    Parameters
    ----------
    short
        Distance short of the radiographic apex, such as the gap of a length-confirmation image.

    Examples
    --------
    >>> found = read_fill_end(Quantity(value=2.5, u=0.1, low=2.3, high=2.7))
    >>> [reading.verdict for reading in found.readings]
    ['short', 'short', 'adequate']
    >>> found.findings[0].code
    'fill-rules-differ'
    """
    readings = tuple(_read(fill_rule(name), short) for name in fill_rules())
    return FillEnd(short, readings, tuple(_doubts(short, readings)))


def _read(rule: FillRule, short: Quantity) -> FillReading:
    edges = [edge for edge in (0.0, rule.low_mm, rule.high_mm) if short.low < edge < short.high]
    values = [short.value, short.low, *edges, short.high]
    within = tuple(dict.fromkeys(rule.classify(value) for value in values))
    return FillReading(rule, rule.classify(short.value), within)


def _doubts(short: Quantity, readings: tuple[FillReading, ...]) -> list[Finding]:
    doubts = []
    if short.value < 0:
        doubts.append(
            Finding(
                "fill-beyond-apex",
                f"The end lies {-short.value:.1f} mm beyond the marked apex.",
                "Check the apex mark; a cone is shortened before it is cemented.",
                "serious",
            )
        )
    if len({one.verdict for one in readings}) > 1:
        told = "; ".join(f"{one.rule.name}: {one.verdict}" for one in readings)
        doubts.append(
            Finding(
                "fill-rules-differ",
                f"The published rules differ on an end {short.value:.1f} mm short: {told}.",
                "Say which rule you follow.",
                "note",
            )
        )
    unsure = [one for one in readings if len(one.within) > 1]
    if unsure:
        told = "; ".join(f"{one.rule.name}: {' or '.join(one.within)}" for one in unsure)
        low, high = outward(short.low, short.high, 1)
        doubts.append(
            Finding(
                "fill-verdict-uncertain",
                f"Within the interval {low:z.1f} to {high:z.1f} mm the verdict is open: {told}.",
                "Mark the end and the apex again on an image that shows both.",
            )
        )
    return doubts
