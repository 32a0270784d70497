"""Doubts about the bend of one canal: too few clicks where it matters, and paths that run as no canal does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from radlength.finding import Finding
from radlength.geometry.bend import Bends
from radlength.shape.bend_methods import leaving
from radlength.shape.reading import Reading

END_SHARE = 0.1
"""Share of a smooth curve at each end where it is held by clicks on one side only."""

REACHED_MM = 0.5
"""An arc that comes this near to a place bends it: a step of the profile."""

STRAIGHT_DEG = 5.0
"""Below this the published classes call a canal straight (Schneider 1971): no radius is given."""

USUAL_RADIUS_MM = 2.0
"""Sharpest radius among 1163 canals, at 75 degrees (Schäfer et al. 2002)."""

LEAST_AFTER = 3
"""Clicks from where a bend begins to the apex, below which angle and radius are not told."""

LEAST_BEFORE = 2
"""Clicks before a bend begins, below which nothing but the fit says where the long axis lies."""

LEAST_WITHIN = 2
"""Clicks within a bend, below which its radius is not told: of 281 simulated canals the interval held the true radius
in 94 % with two clicks or more and in 26 % with fewer (seed 12, spread 0.05 and 0.1 mm)."""

POOR_FIT = 3.0
"""Spreads of a mark by which clicks may lie beside the lines and arcs before these are no picture of the canal."""

SHARPEST_PER_MM = 2.0
"""No canal bends within half a millimetre: a path does that turns back on itself."""

PROJECTED = Finding(
    "curvature-projected",
    "These are bends in the plane of the image; a bend along the beam is not in them.",
    "A second view from another side shows more.",
    "note",
)


def between_clicks(found: Bends) -> dict[str, int]:
    """Return the radii that are not told, and how many clicks lie within each of those bends."""
    points, untold = found.points[0], {}
    for arc in range(found.arcs):
        if abs(math.degrees(found.angle_rad(arc)[0])) < STRAIGHT_DEG:
            continue
        after = (points - found.starts(arc)[0]) @ found.heading(arc)[0] >= -1e-6
        before = (points - found.ends(arc)[0]) @ found.heading(arc + 1)[0] <= 1e-6
        within = int(np.sum(after & before))
        if within < LEAST_WITHIN:
            untold["radius" + (("", ", first bend", ", second bend")[arc + found.arcs - 1])] = within
    return untold


def curvature_doubts(
    label: str, found: Bends, readings: Sequence[Reading], spread_mm: float
) -> list[Finding]:
    """Return what makes the figures of a bend doubtful, with the canal named.

    Parameters
    ----------
    label
        Tooth and canal.
    found
        The fitted lines and arcs.
    readings
        The figures that are told, the largest curvature of the profile among them.
    spread_mm
        Spread of a click along the path, millimetres.
    """
    doubts = [PROJECTED, *_no_canal(found, readings, spread_mm)]
    may_be_none = any(one.low == 0 for one in readings if one.name.startswith("Weine angle"))
    doubts += [
        Finding(
            "bend-between-clicks",
            f"{'No' if not within else 'Only one'} click lies within a bend: no radius is told, and where the canal"
            " leaves its axis is a guess.",
            "Click two points or more within the bend.",
            "question" if may_be_none else "serious",
        )
        for within in between_clicks(found).values()
    ]
    last = found.arcs - 1
    beyond = found.points[0] - found.starts(last)[0]
    after = int(np.sum(beyond @ found.heading(last)[0] > 0))
    if after < LEAST_AFTER and abs(math.degrees(found.angle_rad(last)[0])) >= STRAIGHT_DEG:
        doubts.append(
            Finding(
                "bend-few-clicks",
                f"Only {after} click{'s' * (after != 1)} lie{'s' * (after == 1)} in the last bend and beyond it.",
                "Click three points or more from where the bend begins to the apex.",
                "question" if may_be_none else "serious",
            )
        )
    place, axis = (each[0] for each in leaving(found))
    before = int(np.sum((found.points[0] - place) @ axis <= 1e-6))
    if before < LEAST_BEFORE and abs(math.degrees(found.angle_rad()[0])) >= STRAIGHT_DEG:
        doubts.append(
            Finding(
                "axis-few-clicks",
                "The canal bends from its first click on: no straight part gives the long axis of the Schneider and"
                " the access angle.",
                "Click two points or more on the straight part, if there is one; else go by radius and profile.",
            )
        )
    sharp = [one for one in readings if one.name.startswith("radius") and one.value < USUAL_RADIUS_MM]
    doubts += [
        Finding(
            "radius-small",
            f"A radius of {one.value:.1f} mm is smaller than any among 1163 canals (Schäfer et al. 2002: 2 mm).",
            "Look again at the clicks in the bend.",
        )
        for one in sharp
    ]
    return [replace(doubt, subject=label) for doubt in doubts]


def bends_at_an_end(found: Bends, at_mm: float, length_mm: float) -> str:
    """Return at which end, "apical" or "coronal", a smooth curve bends most though no arc comes near; else "".

    The straight parts and the arcs of a canal make a corner in its curvature. A polynomial rounds that off and makes up
    for it at its own ends, where nothing holds it.

    Parameters
    ----------
    found
        The fitted lines and arcs.
    at_mm
        From the apical end to where the smooth curve bends most.
    length_mm
        Its length.
    """
    near = END_SHARE * length_mm
    if near < at_mm < length_mm - near:
        return ""
    path = found.points[0]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    close = np.linspace(0.0, along[-1], 400)
    line = np.column_stack([np.interp(close, along, path[:, axis]) for axis in (0, 1)])
    for arc in range(found.arcs):
        first, last = (
            along[-1] - close[np.argmin(np.hypot(*(line - point).T))]
            for point in (found.starts(arc)[0], found.ends(arc)[0])
        )
        if last - REACHED_MM <= at_mm <= first + REACHED_MM:
            return ""
    return "apical" if at_mm <= near else "coronal"


def end_doubt(end: str, per_mm: float, label: str) -> Finding:
    """Return the doubt about a profile that bends most at an end where the canal does not."""
    return Finding(
        "profile-end",
        f"The profile bends most at its {end} end ({per_mm:.2g} per mm), where no bend was found: that is the smooth"
        " curve's own, and neither its largest nor its mean curvature is the canal's.",
        "Go by angle and radius; look at the image before you think of a hook there.",
        "question",
        label,
    )


def _no_canal(found: Bends, readings: Sequence[Reading], spread_mm: float) -> list[Finding]:
    """Return doubts about a path that runs as no canal does, or as no line and arc can."""
    doubts = []
    away = float(found.residual_rms[0])
    if away > POOR_FIT * max(spread_mm, 0.02):
        doubts.append(
            Finding(
                "bend-fit-poor",
                f"The clicks lie {away:.2f} mm beside straight parts and {'two arcs' if found.arcs > 1 else 'an arc'}:"
                " angles and radius say little of this canal.",
                "Look for a click that lies wrong; else go by the profile.",
                "serious",
            )
        )
    peak = next(one.value for one in readings if one.name == "largest curvature")
    if peak > SHARPEST_PER_MM:
        doubts.append(
            Finding(
                "path-turns-back",
                f"The path bends by up to {peak:.3g} per mm, within {1 / peak:.2g} mm: it turns back on itself.",
                "Take out the click that lies behind the one before it.",
                "serious",
            )
        )
    return doubts
