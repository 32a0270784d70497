"""How sure the gap from the tip of an instrument to the apex is."""

from __future__ import annotations

import math

import numpy as np

from radlength.geometry import Curve
from radlength.uncertainty import BudgetLine, Marking, two_arms
from radlength.uncertainty.apart import apart_arm
from radlength.uncertainty.geometry import in_canal_arms


def gap_lines(curve: Curve, *, beyond: bool, marking: Marking, scale_share: float) -> tuple[BudgetLine, ...]:
    """Return what makes a gap unsure.

    Parameters
    ----------
    curve
        From the tip to the radiographic apex, in millimetres in the tooth.
    beyond
        The tip lies beyond the apex: the gap counts as negative.
    marking
        Spread of the marks.
    scale_share
        Standard uncertainty of the scale as a share of it.

    Notes
    -----
    First order (JCGM 100:2008, 5.1): a mark counts by how the length answers to it. Where a gap is hardly longer than
    its marks tremble, trembling can only lengthen it, and the arm toward no gap is longer
    (:func:`radlength.uncertainty.apart.apart_arm`).
    """
    answer = np.linalg.norm(curve.length_gradient(), axis=1)
    tip, apex = marking.tip_mm * answer[0], marking.apex_mm * answer[-1]
    between = marking.path_mm * float(np.linalg.norm(answer[1:-1]))
    nearer = apart_arm(curve.length, math.hypot(tip, apex))
    toward = (0.0, nearer) if beyond else (nearer, 0.0)
    arms = in_canal_arms(-curve.length if beyond else curve.length)
    lines = [
        BudgetLine("tip", tip, "normal", f"mark SD {marking.tip_mm:g} mm"),
        BudgetLine("radiographic apex", apex, "normal", f"mark SD {marking.apex_mm:g} mm"),
        BudgetLine("path", between, "normal", f"mark SD {marking.path_mm:g} mm"),
        BudgetLine("scale", curve.length * scale_share, "normal", "scale of the image"),
        two_arms("geometry of one view", arms.low_mm, arms.high_mm, arms.words),
        two_arms("marks close together", *toward, "two trembling marks are never nearer than no gap"),
    ]
    return tuple(line for line in lines if line.u_mm > 0 or line.name not in ("path", "marks close together"))
