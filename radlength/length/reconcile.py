"""Lengths of one canal from several methods, side by side: brought to one end point and compared.

Nothing here decides on a length; a mean is in :mod:`radlength.length.reconcile_mean`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from radlength.errors import TradeError
from radlength.finding import Finding
from radlength.length.reconcile_readings import Reading, linear, to_apex
from radlength.quantity import Quantity
from radlength.trade import CAUTION, NOT_CONFIRMED

RECONCILE_ALGORITHM = "1"
"""Version of the comparison: raised when the same values would give other numbers."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two lengths compared.

    Parameters
    ----------
    first, second
        Their names.
    difference
        Second less first, with its interval.
    e_n
        Difference over its expanded uncertainty on the side that faces zero; above 1 they disagree.
    same_stage
        Whether both were measured at one stage of the work.
    """

    first: str
    second: str
    difference: Quantity
    e_n: float
    same_stage: bool = True

    def as_dict(self) -> dict[str, Any]:
        """Return the pair as plain data."""
        return {
            "first": self.first,
            "second": self.second,
            "difference": self.difference.as_dict(),
            "e_n": self.e_n,
            "same_stage": self.same_stage,
        }


@dataclass(frozen=True, slots=True)
class Reconciled:
    """Lengths side by side.

    Parameters
    ----------
    tooth
        ISO 3950.
    readings
        As they were given.
    at_apex
        The same to the radiographic apex; ``None`` where no table leads there.
    pairs
        Every two that can be compared.
    findings
        Agreement and conflict.
    """

    tooth: str
    readings: tuple[Reading, ...]
    at_apex: tuple[Reading | None, ...]
    pairs: tuple[Pair, ...]
    findings: tuple[Finding, ...]
    algorithm: str = RECONCILE_ALGORITHM

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data, with status and caution."""
        rows = [
            {
                "name": reading.name,
                "length": reading.length.as_dict(),
                "ends_at": reading.landmark,
                "short_mm": reading.short_mm,
                "to_radiographic_apex": moved.length.as_dict() if moved else None,
            }
            for reading, moved in zip(self.readings, self.at_apex, strict=True)
        ]
        return {
            "tooth": self.tooth,
            "values": rows,
            "pairs": [pair.as_dict() for pair in self.pairs],
            "findings": [finding.as_dict() for finding in self.findings],
            "algorithm": self.algorithm,
            "status": NOT_CONFIRMED,
            "caution": CAUTION,
        }


def reconcile(readings: Sequence[Reading], tooth: str, *, table_holds: bool = True) -> Reconciled:
    """Put lengths of one canal and one reference point side by side.

    Parameters
    ----------
    readings
        Lengths from one reference point; others cannot be compared.
    tooth
        ISO 3950, for the distances between landmarks.
    table_holds
        False for an open or resorbed apex: then only lengths to one landmark are compared.

    Notes
    -----
    E_n is the difference over its expanded (95 %) uncertainty; agreement is E_n up to 1 (ISO/IEC 17043, from memory).

    Examples
    --------
    >>> image = Reading("image", Quantity(21.4, 0.25, 20.9, 22.0), "radiographic apex")
    >>> locator = Reading("locator", Quantity(20.0, 0.3, 19.5, 20.5), "apical foramen")
    >>> found = reconcile([image, locator], "46")
    >>> round(found.pairs[0].e_n, 2), found.findings[0].code
    (0.51, 'values-agree')
    """
    moved = tuple(_moved(reading, tooth, table_holds=table_holds) for reading in readings)
    comparable = [
        pair
        for (a, a_raw), (b, b_raw) in combinations(zip(moved, readings, strict=True), 2)
        if (pair := _comparable(a, b, a_raw, b_raw))
    ]
    pairs = tuple(_compared(first, second) for first, second in comparable)
    findings = [*_unmoved(readings, moved, tooth, table_holds=table_holds), *_verdicts(pairs, tooth)]
    return Reconciled(tooth, tuple(readings), moved, pairs, tuple(findings))


def _moved(reading: Reading, tooth: str, *, table_holds: bool) -> Reading | None:
    if reading.landmark != "radiographic apex" and not table_holds:
        return None
    try:
        return to_apex(reading, tooth)
    except TradeError:
        return None


def _comparable(
    a: Reading | None, b: Reading | None, a_raw: Reading, b_raw: Reading
) -> tuple[Reading, Reading] | None:
    """Return two lengths with one end point: both at the apex, or both at the landmark they have in common."""
    if a is not None and b is not None:
        return a, b
    if a_raw.landmark != b_raw.landmark:
        return None
    ended = [
        Reading(r.name, r.length.shifted(r.short_mm), r.landmark, 0.0, r.shared, r.stage)
        for r in (a_raw, b_raw)
    ]
    return ended[0], ended[1]


def _compared(first: Reading, second: Reading) -> Pair:
    difference = linear([first, second], [-1.0, 1.0])
    arm = difference.lower_arm if difference.value >= 0 else difference.upper_arm
    return Pair(first.name, second.name, difference, abs(difference.value) / arm, first.stage == second.stage)


def _unmoved(
    readings: Sequence[Reading], moved: Sequence[Reading | None], tooth: str, *, table_holds: bool
) -> list[Finding]:
    names = [r.name for r, m in zip(readings, moved, strict=True) if m is None]
    if not names:
        return []
    why = (
        f"no table says how far the landmarks of tooth {tooth} lie apart"
        if table_holds
        else "the apex is open or resorbed, so the usual distances between landmarks do not hold"
    )
    return [
        Finding(
            "values-not-converted",
            f"Not brought to the radiographic apex: {', '.join(names)}; {why}.",
            "Compare lengths that end at one landmark.",
            "note",
        )
    ]


def _verdicts(pairs: Sequence[Pair], tooth: str) -> list[Finding]:
    if not pairs:
        return []
    apart = [pair for pair in pairs if pair.e_n > 1]
    if not apart:
        worst = max(pair.e_n for pair in pairs)
        return [
            Finding(
                "values-agree",
                f"{counted(len(pairs), 'pair')} compared, none beyond its interval (largest E_n {worst:.2f}).",
                "Agreement is no proof: values may share an error.",
                "note",
                tooth,
            )
        ]
    worst_first = sorted(apart, key=lambda pair: -pair.e_n)
    changed = [pair for pair in worst_first if not pair.same_stage]
    conflicts = [_apart(pair) for pair in worst_first if pair.same_stage]
    return [*conflicts, *(_apart(pair, more=len(changed) - 1) for pair in changed[:1])]


def _apart(pair: Pair, *, more: int = 0) -> Finding:
    others = f", and {counted(more, 'pair')} like it" if more else ""
    sentence = (
        f"{pair.first} and {pair.second} differ by {pair.difference.value:+.2f} mm at one end point, more than "
        f"their intervals allow (E_n {pair.e_n:.2f})"
    )
    if pair.same_stage:
        return Finding(
            "values-conflict",
            f"{sentence}.",
            "Look for a moved stop, another reference point, a wrong canal or an unstable reading; measure again.",
            "serious",
        )
    return Finding(
        "values-changed",
        f"{sentence}; they are of different stages of the work{others}.",
        "Trust neither alone: the canal may have changed, or one of them is wrong; measure again.",
        "question",
    )


def counted(count: int, what: str) -> str:
    """Return a number of things in words.

    Examples
    --------
    >>> counted(1, "pair"), counted(2, "pair")
    ('1 pair', '2 pairs')
    """
    return f"{count} {what}{'s' * (count != 1)}"


def end_words(landmark: str, short_mm: float) -> str:
    """Return where a length ends.

    Examples
    --------
    >>> end_words("radiographic apex", 1.0), end_words("apical foramen", 0.0)
    ('1 mm short of the radiographic apex', 'at the apical foramen')
    """
    return f"{short_mm:g} mm short of the {landmark}" if short_mm else f"at the {landmark}"
