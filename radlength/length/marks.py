"""How the marks of a canal and its reference move the length, to first order."""

from __future__ import annotations

import numpy as np

from radlength.geometry import Curve
from radlength.geometry.path import FloatArray
from radlength.scale import Scale
from radlength.uncertainty import BudgetLine, Marking

SAME_MARK = 1e-7
"""Of the canal's length: so near to each other only two copies of one mark lie, whatever the unit."""


def shares_coronal_mark(canal: Curve, scale: Scale) -> bool:
    """Tell whether canal and reference start at one and the same mark, which then moves both lengths."""
    if scale.curve is None:
        return False
    apart = np.linalg.norm(canal.clicks[0] - scale.curve.clicks[0])
    return bool(apart < SAME_MARK * canal.length)


def mark_lines(canal: Curve, scale: Scale, marking: Marking) -> list[BudgetLine]:
    """Return the budget lines of all marks.

    Parameters
    ----------
    canal
        Curve of the canal in units of the frame.
    scale
        The scale, with the curve of its reference where it has one.
    marking
        Standard deviation of each landmark in millimetres in the tooth, per coordinate.

    Notes
    -----
    Length = mm_per_unit × canal; a reference's mm_per_unit is its length over its curve. A reference beside the tooth
    has two ends like its tip, and no stop. A mark that both curves share enters once, with the
    difference of its two effects (JCGM 100:2008, 5.2: fully correlated inputs).
    """
    factor = scale.mm_per_unit
    canal_effect = factor * canal.length_gradient()
    lines = {"reference point": [(canal_effect[0], marking.stop_mm)]}
    lines["radiographic apex"] = [(canal_effect[-1], marking.apex_mm)]
    lines["clicks along the canal"] = [(canal_effect[1:-1], marking.path_mm)]
    if scale.curve is not None:
        ratio = factor * canal.length / scale.curve.length
        effect = -ratio * scale.curve.length_gradient()
        if shares_coronal_mark(canal, scale):
            lines["reference point"] = [(canal_effect[0] + effect[0], marking.stop_mm)]
        elif scale.method == "beside":
            lines["first end of the reference"] = [(effect[0], marking.tip_mm)]
        else:
            lines["stop of the reference"] = [(effect[0], marking.stop_mm)]
        last = "second end of the reference" if scale.method == "beside" else "tip of the reference"
        lines[last] = [(effect[-1], marking.tip_mm)]
        lines["clicks along the reference"] = [(effect[1:-1], marking.path_mm)]
    return [
        _line(name, effect, sd, factor)
        for name, parts in lines.items()
        for effect, sd in parts
        if effect.size
    ]


def _line(name: str, effect_mm_per_unit: FloatArray, sd_mm: float, factor: float) -> BudgetLine:
    sensitivity = float(np.linalg.norm(effect_mm_per_unit)) / factor
    return BudgetLine(
        name=name,
        u_mm=sensitivity * sd_mm,
        distribution="normal",
        basis=f"mark SD {sd_mm:g} mm, sensitivity {sensitivity:.2f}",
    )
