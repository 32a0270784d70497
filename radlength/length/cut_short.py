"""A bend cut short by the clicks: an instrument's makes the canal read too long, the canal's own too short.

An instrument in a canal runs along it. Where both are marked, each says how long the other's shadow is between the
instrument's ends; a straight line from stop to tip of a bent instrument is shorter, and so is one along a bent canal.
"""

from __future__ import annotations

import numpy as np

from radlength.geometry import Curve
from radlength.geometry.path import FloatArray, cumulative_length
from radlength.scale import Scale
from radlength.uncertainty import BudgetLine, Marking, two_arms

CUT_SHORT = "bend of the reference"
"""Name of the budget line of an instrument cut short."""

CANAL_CUT_SHORT = "bend of the canal"
"""Name of the budget line of a canal cut short."""

LEAST_MM = 0.1
"""Nothing is said below."""

SPREADS = 1.5
"""Nothing is said below so many standard deviations of a click along a path: marks that scatter make as much."""

ROOM = 1.5
"""Arm over the effect: other marks add to it on the same side."""


def cut_short_mm(curve: Curve, scale: Scale, marking: Marking) -> float:
    """Return by how much a canal reads too long because the bend of its instrument is cut short, in millimetres.

    Parameters
    ----------
    curve
        The canal, in units of the frame.
    scale
        Its scale; only an instrument in the canal itself is compared with it.
    marking
        Spread of the marks.

    Returns
    -------
    float
        Negative where the canal reads too short because its own bend is cut short; 0 where it is no more than marks
        make.

    Notes
    -----
    No canal through both ends of the instrument is shorter than the straight line between them: what lies aslant, or
    is marked the other way round, is no bend. Nor is a reference point, as a cusp, that lies aside of the stop.
    """
    if scale.method != "in_canal" or scale.curve is None:
        return 0.0
    line = curve.resample(257)
    along = cumulative_length(line)
    (start, aside), (end, _) = (_foot(line, along, scale.curve.clicks[place]) for place in (0, -1))
    beside, tool = abs(end - start), scale.curve.length
    if beside < tool:
        beside = min(max(beside + aside, float(np.hypot(*scale.curve.chord))), tool)
    effect = scale.mm_per_unit * curve.length * (beside / tool - 1)
    return effect if abs(effect) > max(LEAST_MM, SPREADS * marking.path_mm) else 0.0


def cut_short_lines(effect_mm: float) -> tuple[BudgetLine, ...]:
    """Return the budget line of that effect, which has one arm; none where there is no effect."""
    if not effect_mm:
        return ()
    words = f"marked by {abs(effect_mm):.2f} mm of canal length shorter than the"
    if effect_mm > 0:
        return (two_arms(CUT_SHORT, ROOM * effect_mm, 0.0, f"{words} canal runs beside it"),)
    return (two_arms(CANAL_CUT_SHORT, 0.0, -ROOM * effect_mm, f"{words} instrument runs in it"),)


def _foot(line: FloatArray, along: FloatArray, point: FloatArray) -> tuple[float, float]:
    """Return how far along a line the foot of a point lies, and how far off; beyond an end it goes straight on."""
    steps, away = np.diff(line, axis=0), point - line[:-1]
    share = (away * steps).sum(axis=1) / (steps * steps).sum(axis=1)
    lowest, highest = np.zeros(len(steps)), np.ones(len(steps))
    lowest[0], highest[-1] = -np.inf, np.inf
    share = np.clip(share, lowest, highest)
    off = np.hypot(*(away - share[:, None] * steps).T)
    nearest = int(np.argmin(off))
    foot = along[nearest] + share[nearest] * (along[nearest + 1] - along[nearest])
    return float(foot), float(off[nearest])
