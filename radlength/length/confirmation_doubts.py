"""Doubts about a length-confirmation image: the gap by itself, where it lies, and what the marked canal says."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from radlength.finding import Finding
from radlength.geometry import Point
from radlength.length.estimate import Estimate
from radlength.length.reconcile_pairs import Pairs
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.trade import RepeatRule, is_posterior, posterior_caution
from radlength.trade.accuracy import long_caution

AWAY_FROM_APEX_MM = 2.0
"""Common practice, no source: two marks of one apex lie nearer to each other than that."""
LONG_GAP_MM = 5.0
"""Common practice, no source: an instrument so far from the apex shows no working length."""
END: Final = "radiographic apex"


def gap_doubts(gap: Quantity, rule: RepeatRule, tooth: str | None) -> Iterator[Finding]:
    """Yield the doubts about a gap: its verdict, its sign, its length."""
    verdicts = {rule.classify(value) for value in (gap.low_mm, gap.value_mm, gap.high_mm)}
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


def estimate_doubts(
    estimate: Estimate, apex_px: Point, mm_per_px: tuple[float, float], canal_length: Quantity
) -> Iterator[Finding]:
    """Yield the doubts that the marked canal raises.

    Parameters
    ----------
    estimate
        What the marks of the same canal say.
    apex_px
        (row, column) of the apical end of the gap.
    mm_per_px
        Millimetres for one pixel, (down, across).
    canal_length
        Set length plus gap.

    Notes
    -----
    Both lengths are compared by E_n, as in :func:`radlength.length.reconcile.reconcile`. What is serious about the
    estimate is so about the gap, which is measured by the same scale on the same canal.
    """
    away = float(np.hypot(*(np.subtract(apex_px, estimate.canal.path_px[-1]) * mm_per_px)))
    if away > AWAY_FROM_APEX_MM:
        yield Finding(
            "confirmation-gap-elsewhere",
            f"The gap ends {away:.1f} mm from the marked radiographic apex; up to {AWAY_FROM_APEX_MM:g} mm is usual "
            "(common practice, no source).",
            "Mark the gap from the tip to the apex of this canal, in that order; or mark the canal again.",
            "serious",
        )
    marked = estimate.canal_length
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
