"""The usual angles of a bend, each as its authors define it, from one fitted shape of lines and arcs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.bend import Bends

FloatArray = NDArray[np.float64]
Angles = dict[str, FloatArray]
"""Figures by name, degrees and units of the points, one for each fitted path."""

SOURCES: dict[str, tuple[str, str]] = {
    "Schneider angle": (
        "Schneider",
        "Schneider 1971: long axis of the canal, and the line from where the canal leaves it to the foramen",
    ),
    "Weine angle": ("Weine", "Weine (from memory): the straight parts before and after the bend"),
    "Pruett angle": (
        "Pruett",
        "Pruett et al. 1997: perpendiculars where the curve leaves the straight parts",
    ),
    "radius": (
        "Pruett",
        "Pruett et al. 1997: circle through the two points where the curve leaves the straight parts",
    ),
    "canal access angle": (
        "canal access angle",
        "Günday et al. 2005: long axis of the canal, and the line from orifice to foramen",
    ),
    "curvature height": (
        "x",
        "Günday et al. 2005: from the line orifice-foramen to where the canal leaves its axis",
    ),
    "curvature distance": ("y", "Günday et al. 2005: along that line, from the orifice to below that point"),
}


def angles_of(bends: Bends) -> Angles:
    """Return every figure of one bend, or of the first and the second of an S.

    Notes
    -----
    Of an S each bend is measured by itself: the first ends, and the second begins, in the middle of the straight part
    between them.

    Examples
    --------
    >>> from radlength.geometry.bend import fit_bends
    >>> turned = np.radians(np.linspace(0, 60, 7))
    >>> bent = [(x, 0) for x in range(10)]
    >>> bent += [(9 + 5 * np.sin(a), 5 - 5 * np.cos(a)) for a in turned[1:]]
    >>> found = angles_of(fit_bends(bent))
    >>> round(float(found["Schneider angle"][0]), 1), round(float(found["Weine angle"][0]), 1)
    (30.0, 60.0)
    """
    first, last = bends.points[:, 0], bends.points[:, -1]
    if bends.arcs == 1:
        return {**_bend(bends, 0, last, ""), **_access(bends, first, last)}
    middle = (bends.ends(0) + bends.starts(1)) / 2
    return {
        **_bend(bends, 0, middle, ", first bend"),
        **_bend(bends, 1, last, ", second bend"),
        **_access(bends, first, last),
    }


def _bend(bends: Bends, arc: int, end: FloatArray, which: str) -> Angles:
    turned = np.degrees(np.abs(bends.angle_rad(arc)))
    axis = bends.heading(arc)
    leaves = bends.starts(arc)
    if arc == 0:
        inside = np.einsum("bi,bi->b", bends.points[:, 0] - leaves, axis) > 0
        leaves = np.where(inside[:, None], bends.points[:, 0], leaves)
    return {
        f"Schneider angle{which}": _between(axis, end - leaves),
        f"Weine angle{which}": turned,
        f"Pruett angle{which}": turned,
        f"radius{which}": bends.radius(arc),
    }


def _access(bends: Bends, first: FloatArray, last: FloatArray) -> Angles:
    line = last - first
    along = line / np.linalg.norm(line, axis=1, keepdims=True)
    leaves = bends.starts(0) - first
    ahead = np.einsum("bi,bi->b", leaves, along)
    away = np.abs(leaves[:, 0] * along[:, 1] - leaves[:, 1] * along[:, 0])
    return {
        "canal access angle": _between(bends.heading(0), line),
        "curvature height": away,
        "curvature distance": np.maximum(ahead, 0.0),
    }


def _between(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the acute angle between directions, degrees, shape (B,)."""
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    dot = np.einsum("bi,bi->b", one, other)
    angle = np.degrees(np.arctan2(np.abs(cross), dot))
    return np.asarray(np.minimum(angle, 180.0 - angle))
