"""Lengths of one canal from several methods, side by side: brought to one end point and compared.

Nothing here decides on a length; a mean is in :mod:`radlength.length.reconcile_mean`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from radlength.clean import counted
from radlength.errors import TradeError
from radlength.finding import Finding
from radlength.length.reconcile_pairs import Pair, Pairs
from radlength.length.reconcile_readings import Reading, to_apex
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty.budget import Z95

RECONCILE_ALGORITHM = "1"
"""Version of the comparison: raised when the same values would give other numbers."""


MOST_LISTED = 200
"""Pairs listed one by one (20 lengths have 190); of more those that disagree most, or the nearest to it."""

SELDOM = 0.05
"""What chance alone does less often is not spoken of (the usual 5 %)."""

CERTAIN_E_N = 2.0
"""So far apart no two of a dozen sound values lie by chance."""

MOST_TOLD = 50
"""Conflicts told one by one, the worst; what lies beyond is counted."""


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
        Every two that can be compared, each worked out when it is asked for.
    findings
        Agreement and conflict.
    """

    tooth: str
    readings: tuple[Reading, ...]
    at_apex: tuple[Reading | None, ...]
    pairs: Pairs
    findings: tuple[Finding, ...]
    algorithm: str = RECONCILE_ALGORITHM

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data, with status and caution; of very many pairs only those that matter."""
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
            **_listed(self.pairs),
            "findings": [finding.as_dict() for finding in self.findings],
            "algorithm": self.algorithm,
            "status": NOT_CONFIRMED,
            "caution": CAUTION,
        }


def _listed(pairs: Pairs) -> dict[str, Any]:
    """Return the pairs as plain data: how many there are, how many disagree, and those that are listed."""
    if len(pairs) <= MOST_LISTED:
        listed: Sequence[Pair] = tuple(pairs)
        apart = sum(pair.e_n > 1 for pair in listed)
    else:
        same, changed, nearest = pairs.apart(MOST_TOLD)
        apart = same.count + changed.count
        listed = pairs.at([*same.worst, *changed.worst] if apart else nearest.worst)
    return {
        "pairs_compared": len(pairs),
        "pairs_apart": apart,
        "pairs_not_listed": len(pairs) - len(listed),
        "pairs": [pair.as_dict() for pair in listed],
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
    Lengths of one image are compared as if nothing of it were shared: that makes the interval of their difference
    wider, never narrower, and a finding says that their agreement means little.

    Examples
    --------
    >>> from radlength.quantity import Quantity
    >>> image = Reading("image", Quantity(21.4, 0.25, 20.9, 22.0), "radiographic apex")
    >>> locator = Reading("locator", Quantity(20.0, 0.3, 19.5, 20.5), "apical foramen")
    >>> found = reconcile([image, locator], "46")
    >>> round(found.pairs[0].e_n, 2), found.findings[0].code
    (0.51, 'values-agree')
    """
    moved = tuple(_moved(reading, tooth, table_holds=table_holds) for reading in readings)
    ended = [m or _at_its_landmark(r) for m, r in zip(moved, readings, strict=True)]
    pairs = Pairs(ended, [reading.landmark for reading in ended])
    findings = [
        *_unmoved(readings, moved, tooth, table_holds=table_holds),
        *_verdicts(pairs, tooth),
        *_of_one_image(readings, tooth),
    ]
    return Reconciled(tooth, tuple(readings), moved, pairs, tuple(findings))


def _moved(reading: Reading, tooth: str, *, table_holds: bool) -> Reading | None:
    if reading.landmark != "radiographic apex" and not table_holds:
        return None
    try:
        return to_apex(reading, tooth)
    except TradeError:
        return None


def _at_its_landmark(reading: Reading) -> Reading:
    """Return a length as it would be to its own landmark: what has one in common can still be compared."""
    length = reading.length.shifted(reading.short_mm)
    return replace(reading, length=length, short_mm=0.0)


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


def _verdicts(pairs: Pairs, tooth: str) -> list[Finding]:
    if not pairs:
        return []
    same, changed, nearest = pairs.apart(MOST_TOLD)
    if not same.count + changed.count:
        worst = pairs.at(nearest.worst)[0].e_n
        return [
            Finding(
                "values-agree",
                f"{counted(len(pairs), 'pair')} compared, none beyond its interval (largest E_n {worst:.2f}).",
                "Agreement is no proof: values may share an error.",
                "note",
                tooth,
            )
        ]
    left, last = same.count - len(same.worst), len(same.worst) - 1
    conflicts = [
        _apart(p, more=left * (n == last), among=len(pairs)) for n, p in enumerate(pairs.at(same.worst))
    ]
    changes = pairs.at(changed.worst[:1])
    return [*conflicts, *(_apart(p, more=changed.count - 1, among=len(pairs)) for p in changes)]


def _apart(pair: Pair, *, more: int = 0, among: int = 1) -> Finding:
    others = f", and {counted(more, 'pair')} like it" if more else ""
    others += _by_chance(pair.e_n, among)
    sentence = (
        f"{pair.first} and {pair.second} differ by {pair.difference.value:+z.2f} mm at one end point, more than "
        f"their intervals allow (E_n {pair.e_n:.2f})"
    )
    if pair.same_stage:
        return Finding(
            "values-conflict",
            f"{sentence}{others}.",
            "Look for a moved stop, another reference point, a wrong canal or an unstable reading; measure again.",
            "serious",
        )
    return Finding(
        "values-changed",
        f"{sentence}; they are of different stages of the work{others}.",
        "Trust neither alone: the canal may have changed, or one of them is wrong; measure again.",
        "question",
    )


def _by_chance(e_n: float, among: int) -> str:
    """Return how often sound values are so far apart where many pairs are looked at; nothing where it is seldom.

    Notes
    -----
    The range of normal values with one spread (Tukey's studentised range with known spread): of five sound lengths some
    two lie beyond their intervals in 29 of 100 canals, of two in 5.
    """
    if among < 2 or e_n > CERTAIN_E_N:
        return ""
    from scipy.stats import studentized_range  # noqa: PLC0415 - seldom needed

    values = round((1 + math.sqrt(1 + 8 * among)) / 2)
    share = float(studentized_range.sf(e_n * Z95 * math.sqrt(2), values, math.inf))
    told = f"; among {among} pairs chance alone puts one so far apart in {100 * share:.0f} of 100 canals"
    return told if share > SELDOM else ""


def _of_one_image(readings: Sequence[Reading], tooth: str) -> list[Finding]:
    """Say which lengths were measured on one image."""
    groups: dict[str, list[str]] = {}
    for reading in readings:
        for image in reading.images:
            groups.setdefault(image, []).append(reading.name)
    found = dict.fromkeys(tuple(names) for names in groups.values() if len(names) > 1)
    return [
        Finding(
            "values-of-one-image",
            f"{', '.join(names)} were measured on one image: they share marks, scale and view, so that their agreement "
            "is no second proof. A mean takes the surest of them alone.",
            "Compare with another method or another image.",
            "note",
            tooth,
        )
        for names in found
    ]


def end_words(landmark: str, short_mm: float) -> str:
    """Return where a length ends.

    Examples
    --------
    >>> end_words("radiographic apex", 1.0), end_words("apical foramen", 0.0)
    ('1 mm short of the radiographic apex', 'at the apical foramen')
    """
    return f"{short_mm:g} mm short of the {landmark}" if short_mm else f"at the {landmark}"
