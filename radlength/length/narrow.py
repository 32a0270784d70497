"""What would narrow the interval of an estimate, and to what: first what costs nothing, then what exposes the patient.

Predictions change single lines of the error budget and add them up again; nothing is measured here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from radlength.geometry import fit_curve
from radlength.length.cut_short import CANAL_CUT_SHORT, CUT_SHORT
from radlength.length.estimate import Estimate, degree_effect
from radlength.quantity import Quantity
from radlength.uncertainty import Budget, BudgetLine, two_arms
from radlength.uncertainty.geometry import in_canal_arms

RULER_LIMIT_MM = 0.25
"""Limit of a length read on a ruler with half-millimetre lines (half a division; common practice, no source)."""

REPEATS = 4
"""Independent repetitions of every mark: four halve their spread (JCGM 100:2008, 4.2.3)."""

GOOD_CLICKS = 8
"""Clicks that follow a bend without cutting it short (simulated arcs of 40 degrees: -0.005 mm)."""

CLOSE_GAP_MM = 0.5
"""Gap of an instrument that reaches nearly to the apex."""

SECOND_VIEW_DEG = 20.0
SECOND_VIEW_ARM_MM = 0.2
"""95 % error of two views at `SECOND_VIEW_DEG` without a marker, on simulated scenes (the study of two views)."""

WORTH_MM = 0.02
"""A way that narrows the interval by less is not offered."""

GEOMETRY = "geometry of one view"
MARKS = (
    "reference point",
    "radiographic apex",
    "clicks along",
    "stop of",
    "tip of",
    "first end",
    "second end",
)
SCALE = (
    "reference length",
    "magnification not known",
    "stop of",
    "tip of",
    "first end",
    "second end",
    "clicks along the reference",
)
"""Lines that an instrument in the canal replaces."""
Change = Callable[[BudgetLine], BudgetLine]


@dataclass(frozen=True, slots=True)
class Narrower:
    """One way to a narrower interval.

    Parameters
    ----------
    code
        Short name for programs.
    words
        What to do.
    canal_length
        The canal length as it would read if its value stayed.
    exposes
        Whether it needs another exposure, and so a clinical justification.
    """

    code: str
    words: str
    canal_length: Quantity
    exposes: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {
            "code": self.code,
            "words": self.words,
            "low_mm": self.canal_length.low_mm,
            "high_mm": self.canal_length.high_mm,
            "needs_an_exposure": self.exposes,
        }


def narrower(estimate: Estimate) -> tuple[Narrower, ...]:
    """Return what would narrow the interval of an estimate, those without an exposure first.

    Parameters
    ----------
    estimate
        A measured canal.

    Returns
    -------
    tuple of Narrower
        Only ways that would narrow the interval by more than `WORTH_MM`.

    Examples
    --------
    >>> from radlength import Canal, Reference, estimate_length
    >>> path = [(0, 0), (100, 0), (220, 0)]
    >>> estimate = estimate_length(Canal("11", "single", path), Reference([(0, 0), (200, 0)], 20.0))
    >>> [way.code for way in narrower(estimate)]
    ['ruler', 'repeat-marks', 'straight', 'closer', 'second-view']
    """
    now = estimate.canal_length
    ways = [*_without_exposure(estimate), *_with_exposure(estimate)]
    return tuple(
        way
        for way in ways
        if now.high_mm - now.low_mm - (way.canal_length.high_mm - way.canal_length.low_mm) > WORTH_MM
    )


def _without_exposure(estimate: Estimate) -> Iterator[Narrower]:
    reference, canal = estimate.reference, estimate.canal
    if reference is not None and reference.limit_mm > RULER_LIMIT_MM:
        share = RULER_LIMIT_MM / reference.limit_mm
        change = _scaled(share, lambda line: line.name == "reference length")
        yield _way(
            estimate, "ruler", f"Read the reference's length on a ruler, to ±{RULER_LIMIT_MM:g} mm.", change
        )
    change = _scaled(REPEATS**-0.5, lambda line: line.name.startswith(MARKS))
    yield _way(
        estimate, "repeat-marks", f"Place every mark {REPEATS} times afresh and take the mean.", change
    )
    for name, what in ((CUT_SHORT, "instrument"), (CANAL_CUT_SHORT, "canal")):
        words = f"Mark the {what} along its bend, 4 points or more."
        yield _way(estimate, f"click-{what}", words, _replaced(two_arms(name, 0.0, 0.0, "")))
    if len(canal.path_px) < GOOD_CLICKS:
        change = _more_clicks(estimate)
        yield _way(
            estimate, "more-clicks", f"Click {GOOD_CLICKS} points or more, most of them in the bend.", change
        )
    if estimate.method == "in_canal" and estimate.gap_mm is not None and not canal.straight:
        words = (
            "State how it is known that the canal does not bend along the beam, if an earlier image shows it."
        )
        yield _way(estimate, "straight", words, _geometry(estimate.gap_mm, straight=True))


def _with_exposure(estimate: Estimate) -> Iterator[Narrower]:
    if estimate.method != "in_canal":
        words = f"An image with an instrument in the canal, {CLOSE_GAP_MM:g} mm from the apex or nearer."
        change = _geometry(CLOSE_GAP_MM, straight=bool(estimate.canal.straight))
        yield _way(_with_an_instrument(estimate), "in-canal", words, change, exposes=True)
    elif estimate.gap_mm is not None and estimate.gap_mm > CLOSE_GAP_MM:
        words = f"An image with the instrument {CLOSE_GAP_MM:g} mm from the apex or nearer."
        change = _geometry(CLOSE_GAP_MM, straight=bool(estimate.canal.straight))
        yield _way(estimate, "closer", words, change, exposes=True)
    change = _replaced(two_arms(GEOMETRY, SECOND_VIEW_ARM_MM, SECOND_VIEW_ARM_MM, "two views"))
    words = f"A second view, the tube shifted by {SECOND_VIEW_DEG:g}°, measured together with this one."
    if estimate.method not in ("in_canal", "borrowed"):
        estimate = _with_an_instrument(estimate)
        words = (
            "Two views with an instrument of known length in the canal, the tube shifted by "
            f"{SECOND_VIEW_DEG:g}° between them, measured together."
        )
    yield _way(estimate, "second-view", words, change, exposes=True)


def _with_an_instrument(estimate: Estimate) -> Estimate:
    """Return an estimate whose scale is that of an instrument, read on a ruler, that starts at the reference point."""
    kept = [line for line in estimate.budget.lines if not line.name.startswith(SCALE)]
    marking = estimate.marking
    new = [
        BudgetLine("tip of the reference", marking.tip_mm, "normal", f"mark SD {marking.tip_mm:g} mm"),
        BudgetLine("reference length", RULER_LIMIT_MM / math.sqrt(3), "rectangular", "read on a ruler"),
    ]
    stop = [line for line in kept if line.name != "reference point"]
    return replace(estimate, budget=Budget((*stop, *new)))


def _way(estimate: Estimate, code: str, words: str, change: Change, *, exposes: bool = False) -> Narrower:
    budget = Budget(tuple(change(line) for line in estimate.budget.lines))
    return Narrower(code, words, budget.around(estimate.canal_length.value_mm), exposes)


def _scaled(share: float, chosen: Callable[[BudgetLine], bool]) -> Change:
    return lambda line: replace(line, u_mm=line.u_mm * share) if chosen(line) else line


def _replaced(new: BudgetLine) -> Change:
    return lambda line: new if line.name == new.name else line


def _geometry(gap_mm: float, *, straight: bool = False) -> Change:
    arms = in_canal_arms(gap_mm, straight=straight)
    return _replaced(two_arms(GEOMETRY, arms.low_mm, arms.high_mm, arms.words))


def _more_clicks(estimate: Estimate) -> Change:
    """Return the change of the lines if the same curve had `GOOD_CLICKS` clicks, equally spaced."""
    clicks = len(estimate.canal.path_px)
    curve = fit_curve(estimate.canal.path_px)
    finer = fit_curve(curve.resample(GOOD_CLICKS))
    old, new = degree_effect(curve), degree_effect(finer)
    shape = min(1.0, new / old) if old else 1.0
    share = {"shape of the curve": shape, "clicks along the canal": (clicks / GOOD_CLICKS) ** 0.5}
    return lambda line: replace(line, u_mm=line.u_mm * share.get(line.name, 1.0))
