"""Doubts about a length-confirmation image: the gap by itself, where it lies, and what the marked canal says."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from radlength.finding import Finding
from radlength.geometry import Point, fit_curve
from radlength.length.estimate import Estimate
from radlength.length.reconcile_pairs import Pairs
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.trade import RepeatRule, is_posterior, posterior_caution
from radlength.trade.accuracy import long_caution
from radlength.uncertainty import Marking
from radlength.uncertainty.budget import Z95

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
    estimate: Estimate,
    gap_px: Sequence[Point],
    mm_per_px: tuple[float, float],
    canal_length: Quantity,
    *,
    beyond: bool,
    marking: Marking,
) -> Iterator[Finding]:
    """Yield the doubts that the marked canal raises.

    Parameters
    ----------
    estimate
        What the marks of the same canal say.
    gap_px
        (row, column) points of the gap, from the tip to the apex.
    mm_per_px
        Millimetres for one pixel, (down, across).
    canal_length
        Set length plus gap.
    beyond
        The gap was said to lie beyond the apex.
    marking
        Spread of the marks.

    Notes
    -----
    Both lengths are compared by E_n, as in :func:`radlength.length.reconcile.reconcile`. What is serious about the
    estimate is so about the gap, which is measured by the same scale on the same canal.
    """
    away = float(np.hypot(*(np.subtract(gap_px[-1], estimate.canal.path_px[-1]) * mm_per_px)))
    if away > AWAY_FROM_APEX_MM:
        yield Finding(
            "confirmation-gap-elsewhere",
            f"The gap ends {away:.1f} mm from the marked radiographic apex; up to {AWAY_FROM_APEX_MM:g} mm is usual "
            "(common practice, no source).",
            "Mark the gap from the tip to the apex of this canal, in that order; or mark the canal again.",
            "serious",
        )
    else:
        yield from _direction(estimate, gap_px, mm_per_px, beyond=beyond, marking=marking)
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


def _direction(
    estimate: Estimate,
    gap_px: Sequence[Point],
    mm_per_px: tuple[float, float],
    *,
    beyond: bool,
    marking: Marking,
) -> Iterator[Finding]:
    """Yield a doubt where tip and apex lie the other way round along the marked canal than is said."""
    curve = fit_curve(np.asarray(estimate.canal.path_px) * mm_per_px)
    along = curve.point_at(curve.length) - curve.point_at(max(curve.length - 1.0, 0.0))
    gap = np.subtract(gap_px[-1], gap_px[0]) * mm_per_px
    against = float(gap @ along / np.linalg.norm(along)) * (1 if beyond else -1)
    spread = math.hypot(marking.tip_mm, marking.apex_mm)
    if against <= spread:
        return
    said, seen = ("beyond", "short of") if beyond else ("short of", "beyond")
    yield Finding(
        "confirmation-gap-direction",
        f"The tip is said to lie {said} the apex, and its mark lies {against:.1f} mm {seen} it: the length is then"
        f" {2 * against:.1f} mm wrong.",
        "Look which of the two lies nearer to the crown; state it, or mark both again.",
        "serious" if against > Z95 * spread else "question",
    )
