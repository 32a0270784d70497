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


def leaving(bends: Bends, arc: int = 0) -> tuple[FloatArray, FloatArray]:
    """Return where a canal leaves its axis and unit vectors along that axis, shape (B, 2) both.

    Where the fitted bend begins before the first point, the canal leaves at that point, along its direction there.

    Examples
    --------
    >>> from radlength.geometry.bend import fit_bends
    >>> turned = np.radians(np.linspace(0, 60, 9))
    >>> place, axis = leaving(fit_bends(np.column_stack([15 * np.sin(turned), 15 - 15 * np.cos(turned)])))
    >>> (abs(place[0]) < 0.01).all(), (abs(axis[0] - (1, 0)) < 0.01).all()
    (np.True_, np.True_)
    """
    leaves, axis = bends.starts(arc), bends.heading(arc)
    if arc > 0:
        return leaves, axis
    first = bends.points[:, 0]
    ahead = np.einsum("bi,bi->b", first - leaves, axis)
    across = np.einsum("bi,bi->b", first - leaves, _left_of(axis))
    bent = bends.parameters[:, 3]
    along = np.clip(np.arctan2(ahead * bent, 1 - across * bent) / bent, 0.0, bends.parameters[:, 4])
    turned = (along * bent)[:, None]
    here = np.cos(turned) * axis + np.sin(turned) * _left_of(axis)
    inside = (ahead > 0)[:, None]
    return np.where(inside, first, leaves), np.where(inside, here, axis)


def _bend(bends: Bends, arc: int, end: FloatArray, which: str) -> Angles:
    turned = np.degrees(np.abs(bends.angle_rad(arc)))
    leaves, axis = leaving(bends, arc)
    return {
        f"Schneider angle{which}": _between(axis, end - leaves),
        f"Weine angle{which}": turned,
        f"Pruett angle{which}": turned,
        f"radius{which}": bends.radius(arc),
    }


def _access(bends: Bends, first: FloatArray, last: FloatArray) -> Angles:
    line = last - first
    along = line / np.linalg.norm(line, axis=1, keepdims=True)
    place, axis = leaving(bends)
    leaves = place - first
    ahead = np.einsum("bi,bi->b", leaves, along)
    away = np.abs(leaves[:, 0] * along[:, 1] - leaves[:, 1] * along[:, 0])
    return {
        "canal access angle": _between(axis, line),
        "curvature height": away,
        "curvature distance": np.maximum(ahead, 0.0),
    }


def _left_of(axis: FloatArray) -> FloatArray:
    """Return unit vectors a quarter turn further, shape (B, 2)."""
    return np.stack([-axis[:, 1], axis[:, 0]], axis=1)


def _between(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the acute angle between directions, degrees, shape (B,)."""
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    dot = np.einsum("bi,bi->b", one, other)
    angle = np.degrees(np.arctan2(np.abs(cross), dot))
    return np.asarray(np.minimum(angle, 180.0 - angle))
