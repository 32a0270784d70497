"""Both ends of two lines of metal whose shadows lie on one another, by a fit of all of the strip.

Knows no instrument. Told only where two lines are far likelier than one and lie on or beside one another near their
ends: elsewhere each line shows its own end better.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.edge import fit_edge, line_heights
from radlength.tracing.pair_ends import PairStrip, end_on
from radlength.tracing.pair_fit import Fit, fit_one, fit_two, gain, u_ends_mm
from radlength.tracing.pair_model import Grid, added_by, patch_of, places_of
from radlength.tracing.pair_sums import ACROSS_MM
from radlength.tracing.strip import directions, steps
from radlength.tracing.tip import End

FloatArray = NDArray[np.float64]

LIKELIER = 25.0
"""Two lines are told where they are this much likelier than one, logarithm: on development scenes (seeds 2000 to 3247)
two that lie on one another are by 20 to 300, one alone by less than 20 but where something else is bright beside it."""
APART_MM, LONGER_MM = 0.15, 0.06
"""Ends nearer than this are one end: what is gained is less than how well they are placed. And one reaches farther than
the other by this much: one thick line told as two has both its ends at one height, within 0.045 mm."""
BESIDE_MM, LAST_MM = 0.45, 1.0
"""Somewhere in the last millimetre before the first end the lines lie nearer to one another than this."""
AGAIN_MM, FARTHEST_MM, FIT_U_MM = 0.1, 0.12, 0.05
"""An end is placed once more, the metal of the other taken out, near where the fit has it, SD; one that is then farther
off lies where the fit has it, and how well that is placed."""
FINE_MM, REACH_MM = 0.02, 0.6
SKIP_MM, BRIGHTEST, NEARLY, WHITE_SHARE = 0.2, 0.9, 0.01, 0.5
"""Up to so far before its end a line is white where more than half of it is within 1 % of its brightest tenth."""
MOST_BAND = 1.0
"""A broad band round both lines that is brighter than they are is the root they lie in, and its end no line's: 2 to 3
times as bright where a thin root is as bright as metal, less than they are for 300 tips of two in development."""
EVEN = 1.0
"""A strip whose grey changes by less shows no line."""
SHOWN = 22
"""Points every 0.1 mm of a line, as far back as it was fitted."""


def whole_ends(strip: PairStrip, end: End) -> tuple[End, ...]:
    """Return both ends of two lines whose shadows lie on one another near their ends, or nothing.

    Parameters
    ----------
    strip
        A strip along one of them.
    end
        Where that line ends if it is one.
    """
    base, at = strip.base_mm, strip.at
    along, sideways = directions(base)
    near = int(np.hypot(*(base - end.point_mm).T).argmin())
    away = end.point_mm - base[near]
    place, beside = float(at[near] + away @ along[near]), float(away @ sideways[near])
    if not at[0] + LAST_MM < place < at[-1] - SKIP_MM or np.ptp(strip.grey) < EVEN:
        return ()
    patch = patch_of(strip.grey, at, ACROSS_MM, place, beside)
    one = fit_one(patch, place, beside)
    if _without_detail(strip, one):
        return ()
    two = fit_two(patch, one, strip.pair, at)
    height, band = two.parts.factors
    if gain(patch, one, two) < LIKELIER or band > MOST_BAND * height or not _on_one_another(two, at):
        return ()
    u_mm = u_ends_mm(patch, two)
    return tuple(_once_more(strip, sideways, two, number, float(u)) for number, u in enumerate(u_mm))


def _without_detail(strip: PairStrip, one: Fit) -> bool:
    """Return whether a line is as bright in much of its middle as anywhere: white, it may be any number of lines."""
    at, course = strip.at, one.courses[0]
    rows = (at > course[3] - LAST_MM) & (at < course[3] - SKIP_MM)
    away = np.abs(ACROSS_MM - places_of(course, at[rows])[:, None])
    metal = strip.grey[rows].astype(np.float64)[away < one.half_mm]
    if not metal.size:
        return True
    top = float(np.quantile(metal, BRIGHTEST)) - NEARLY * float(np.ptp(strip.grey))
    return float(np.mean(metal >= top)) > WHITE_SHARE


def _on_one_another(two: Fit, at: FloatArray) -> bool:
    """Return whether two lines end in the strip, apart, and lie near one another before that."""
    ends = two.courses[:, 3]
    if ends.max() > at[-1] - LAST_MM / 2 or ends.min() < at[0] + LAST_MM:
        return False
    first, second = (float(places_of(one, one[3])) for one in two.courses)
    last = steps(float(ends.min()) - LAST_MM, float(ends.min()), 0.1)
    beside = np.abs(np.subtract(*(places_of(one, last) for one in two.courses)))
    longer = float(np.ptp(ends))
    apart = longer > LONGER_MM and np.hypot(longer, first - second) > APART_MM
    return bool(apart and beside.min() < BESIDE_MM)


def _once_more(strip: PairStrip, sideways: FloatArray, two: Fit, number: int, u_mm: float) -> End:
    """Return the end of one of two lines, found as that of one alone, the metal of the other taken out."""
    from scipy.ndimage import map_coordinates  # noqa: PLC0415

    at, course = strip.at, two.courses[number]
    alone = strip.grey.astype(np.float64) - added_by(
        Grid(at, ACROSS_MM), two.found, two.parts.factors, 1 - number
    )
    places = places_of(course, at)
    across = steps(-REACH_MM, REACH_MM, FINE_MM)
    column = (places[:, None] + across - ACROSS_MM[0]) / (ACROSS_MM[1] - ACROSS_MM[0])
    row = np.broadcast_to(np.arange(len(at))[:, None], column.shape)
    own = map_coordinates(alone, [row, column], order=1, mode="nearest").astype(np.float32)
    heights, width = line_heights(own, across, at - course[3])
    edge = fit_edge(heights, at, float(course[3]), AGAIN_MM)
    if abs(edge.place_mm - course[3]) > FARTHEST_MM:
        edge = replace(edge, place_mm=float(course[3]), u_mm=FIT_U_MM)
    end = end_on(strip.base_mm + places[:, None] * sideways, at, heights, edge, two.half_mm)
    return replace(end, u_mm=float(np.hypot(edge.u_mm, u_mm)), width_mm=width, axis_mm=end.axis_mm[-SHOWN:])
