"""How sure the gap from the tip of an instrument to the apex is."""

from __future__ import annotations

import math

import numpy as np

from radlength.geometry import Curve
from radlength.uncertainty import BudgetLine, Marking, two_arms
from radlength.uncertainty.apart import apart_arm
from radlength.uncertainty.geometry import in_canal_arms

SPREADS = 3.0
"""What marks show by so many standard deviations is not their tremor."""


def gap_length(curve: Curve, marking: Marking) -> float:
    """Return how long a gap is in millimetres: straight from end to end where its bend is no more than tremor.

    Parameters
    ----------
    curve
        From the tip to the radiographic apex, in millimetres in the tooth.
    marking
        Spread of the marks.

    Notes
    -----
    A flat arc of sag h over a chord d is d + 8 h²/(3 d) long: clicks between the ends of a short gap, each off by a
    tenth of a millimetre, lengthen it by as much again as a canal bends in it, and only ever lengthen it. A bend is
    believed where a click lies off the chord by more than `SPREADS` SD of it and of the chord at its place.

    Examples
    --------
    >>> from radlength.geometry import fit_curve
    >>> bent = fit_curve([(0.0, 0.0), (0.4, 0.2), (0.8, 0.0)])
    >>> [round(gap_length(bent, Marking(path_mm=sd, tip_mm=sd, apex_mm=sd)), 2) for sd in (0.02, 0.2)]
    [0.92, 0.8]
    """
    chord = float(np.hypot(*curve.chord))
    along, across = curve.chord / chord, np.array([-curve.chord[1], curve.chord[0]]) / chord
    away = curve.clicks[1:-1] - curve.clicks[0]
    share = np.clip(away @ along / chord, 0.0, 1.0)
    ends = np.hypot((1 - share) * marking.tip_mm, share * marking.apex_mm)
    bent = np.abs(away @ across) > SPREADS * np.hypot(ends, marking.path_mm)
    return curve.length if bent.any() else chord


def gap_lines(
    curve: Curve, gap_mm: float, *, along: bool, marking: Marking, scale_share: float
) -> tuple[BudgetLine, ...]:
    """Return what makes a gap unsure.

    Parameters
    ----------
    curve
        From the tip to the radiographic apex, in millimetres in the tooth.
    gap_mm
        The gap, negative where the tip lies beyond the apex.
    along
        It is the part along the canal; else the whole distance of its marks.
    marking
        Spread of the marks.
    scale_share
        Standard uncertainty of the scale as a share of it.

    Notes
    -----
    First order (JCGM 100:2008, 5.1): a mark counts by how the length answers to it. Where the whole distance of two
    marks counts and is hardly longer than they tremble, trembling can only lengthen it, and the arm toward no gap is
    longer (:func:`radlength.uncertainty.apart.apart_arm`).
    """
    answer = np.linalg.norm(curve.length_gradient(), axis=1)
    tip, apex = marking.tip_mm * answer[0], marking.apex_mm * answer[-1]
    between = marking.path_mm * float(np.linalg.norm(answer[1:-1]))
    nearer = 0.0 if along else apart_arm(curve.length, math.hypot(tip, apex))
    toward = (0.0, nearer) if gap_mm < 0 else (nearer, 0.0)
    arms = in_canal_arms(gap_mm)
    lines = [
        BudgetLine("tip", tip, "normal", f"mark SD {marking.tip_mm:g} mm"),
        BudgetLine("radiographic apex", apex, "normal", f"mark SD {marking.apex_mm:g} mm"),
        BudgetLine("path", between, "normal", f"mark SD {marking.path_mm:g} mm"),
        BudgetLine("scale", abs(gap_mm) * scale_share, "normal", "scale of the image"),
        two_arms("geometry of one view", arms.low_mm, arms.high_mm, arms.words),
        two_arms("marks close together", *toward, "two trembling marks are never nearer than no gap"),
    ]
    return tuple(line for line in lines if line.u_mm > 0 or line.name not in ("path", "marks close together"))
