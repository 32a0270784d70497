"""Doubts about a length-confirmation image: the gap by itself, where it lies, and what the marked canal says."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from radlength.finding import Finding
from radlength.length.estimate import Estimate
from radlength.length.findings import LARGE_GAP_MM, large_gap
from radlength.length.gap_place import AWAY_FROM_APEX_MM, GapPlace
from radlength.length.reconcile_pairs import Pairs
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.trade import RepeatRule, Verdict, is_posterior, posterior_caution
from radlength.trade.accuracy import long_caution
from radlength.uncertainty.budget import Z95

LONG_GAP_MM = 5.0
"""Common practice, no source: an instrument so far from the apex shows no working length."""
END: Final = "radiographic apex"


def gap_doubts(gap: Quantity, rule: RepeatRule, tooth: str | None) -> Iterator[Finding]:
    """Yield the doubts about a gap: its verdict, its sign, its length."""
    verdicts = _verdicts_within(gap, rule)
    if len(verdicts) > 1:
        yield Finding(
            "verdict-uncertain",
            f"The gap is {gap}: within that interval the rule {rule.name!r} says {' or '.join(sorted(verdicts))}.",
            "Mark tip and apex again, or let the apex locator decide.",
        )
    if abs(gap.value_mm) > LONG_GAP_MM:
        yield Finding(
            "confirmation-gap-long",
            f"The gap is {abs(gap.value_mm):.1f} mm; up to {LONG_GAP_MM:g} mm can be added to a set length "
            "(common practice, no source).",
            "Mark the gap alone, from the tip of the instrument to the apex, not the whole canal.",
            "serious",
        )
    elif gap.value_mm > LARGE_GAP_MM:
        yield large_gap(gap.value_mm)
    if gap.value_mm < 0:
        yield Finding(
            "tip-beyond-apex",
            f"The tip is {-gap.value_mm:.1f} mm beyond the marked apex.",
            "Shorten the instrument and check the apex mark.",
            "serious",
        )
        yield Finding("long-is-longer", long_caution(), "Confirm with the apex locator.", "note")
    elif tooth is not None and is_posterior(tooth):
        yield Finding("posterior", posterior_caution(), "Confirm with the apex locator.", "note")


def _verdicts_within(gap: Quantity, rule: RepeatRule) -> set[Verdict]:
    """Return every verdict that a gap within the interval would have: from edge to edge of the rule it is one."""
    edges = (0.0, *rule.accept_mm, rule.repeat_over_mm)
    places = [gap.low_mm, *sorted(edge for edge in edges if gap.low_mm < edge < gap.high_mm), gap.high_mm]
    between = [(one + other) / 2 for one, other in pairwise(places)]
    return {rule.classify(place) for place in (*places, *between)}


def estimate_doubts(
    estimate: Estimate, place: GapPlace, canal_length: Quantity, *, beyond: bool
) -> Iterator[Finding]:
    """Yield the doubts that the marked canal raises.

    Parameters
    ----------
    estimate
        What the marks of the same canal say.
    place
        Where the gap lies against that canal.
    canal_length
        Set length plus gap.
    beyond
        The gap was said to lie beyond the apex.

    Notes
    -----
    Both lengths are compared by E_n, as in :func:`radlength.length.reconcile.reconcile`. Gap and canal are marked on
    one image: the scale of the gap must give the canal its length, and what is serious about the estimate is so about
    the gap.
    """
    if not place.at_apex:
        yield Finding(
            "confirmation-gap-elsewhere",
            f"The gap ends {place.away_mm:.1f} mm from the marked radiographic apex; up to {AWAY_FROM_APEX_MM:g} mm is "
            "usual (common practice, no source).",
            "Mark the gap from the tip to the apex of this canal, in that order; or mark the canal again.",
            "serious",
        )
    elif not place.in_canal and not beyond:
        yield Finding(
            "confirmation-gap-aside",
            f"The tip lies {place.beside_mm:.1f} mm beside the marked canal, more than marks tremble.",
            "Look whether the instrument lies in this canal; mark tip, apex and canal again.",
            "serious",
        )
    else:
        yield from _direction(place, beyond=beyond)
    marked = estimate.canal_length
    if not marked.low_mm <= place.canal_mm <= marked.high_mm:
        yield Finding(
            "confirmation-scale",
            f"At the scale of the gap the marked canal is {place.canal_mm:.1f} mm long, its estimate says {marked}: "
            "the gap counts by another scale than the canal.",
            "Give the scale that the canal was measured by, millimetres in the tooth for one pixel.",
            "serious",
        )
    lengths = Reading("set length and gap", canal_length, END), Reading("estimate", marked, END)
    (pair,) = Pairs(lengths, (END, END))
    if pair.e_n > 1:
        yield Finding(
            "confirmation-conflict",
            f"Set length and gap make a canal of {canal_length}, the marks one of {marked}: more apart than their "
            f"intervals allow (E_n {pair.e_n:.2f}).",
            "Read the set length again, look for a moved stop, a wrong canal or a wrong mark; confirm again.",
            "serious",
        )
    yield from (finding for finding in estimate.findings if finding.severity == "serious")


def _direction(place: GapPlace, *, beyond: bool) -> Iterator[Finding]:
    """Yield a doubt where tip and apex lie the other way round along the marked canal than is said."""
    against = place.along_mm if beyond else -place.along_mm
    if against <= place.spread_mm:
        return
    said, seen = ("beyond", "short of") if beyond else ("short of", "beyond")
    then = (
        f"the length is then {2 * against:.1f} mm too short"
        if beyond
        else "no gap is added, and the length is then as much too long"
    )
    yield Finding(
        "confirmation-gap-direction",
        f"The tip is said to lie {said} the apex, and its mark lies {against:.1f} mm {seen} it: {then}.",
        "Look which of the two lies nearer to the crown; state it, or mark both again.",
        "serious" if against > Z95 * place.spread_mm else "question",
    )
