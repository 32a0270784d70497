"""Where a marked gap lies: how far along its canal, how far beside it, and whether it ends at the marked apex."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from radlength.geometry import Curve, Point, fit_curve
from radlength.length.findings import AWAY_FROM_CANAL_MM
from radlength.length.gap import SPREADS
from radlength.uncertainty import Marking

AWAY_FROM_APEX_MM = 2.0
"""Common practice, no source: two marks of one apex lie nearer to each other than that."""

LEAST_COURSE_MM = 3.0
"""So much of a canal before its apex tells which way it runs, at least: a shorter piece turns with the mark of the
apex, which ends gap and canal alike."""


@dataclass(frozen=True, slots=True)
class GapPlace:
    """A gap against the marked canal, in millimetres in the tooth.

    Parameters
    ----------
    away_mm
        From the apical end of the gap to the apex of the canal.
    along_mm
        How far the tip lies short of the apex along the canal; negative where it is beyond.
    beside_mm
        How far it lies beside the canal.
    spread_mm
        Standard deviation of the distance of two such marks, per coordinate.
    canal_mm
        Length of the canal at the scale the gap is measured by.
    """

    away_mm: float
    along_mm: float
    beside_mm: float
    spread_mm: float
    canal_mm: float

    @property
    def at_apex(self) -> bool:
        """Whether the gap ends at the apex of the canal."""
        return self.away_mm <= AWAY_FROM_APEX_MM

    @property
    def in_canal(self) -> bool:
        """Whether the tip lies no farther beside the canal than marks may tremble."""
        return self.at_apex and self.beside_mm <= max(AWAY_FROM_CANAL_MM, SPREADS * self.spread_mm)


def gap_place(
    gap: Curve, length_mm: float, canal_px: Sequence[Point], mm_per_px: tuple[float, float], marking: Marking
) -> GapPlace:
    """Return where a gap lies against the marked canal.

    Parameters
    ----------
    gap
        From the tip to the apex, in millimetres in the tooth.
    length_mm
        How long it is.
    canal_px
        (row, column) points from the reference point to the apex.
    mm_per_px
        Millimetres for one pixel, (down, across).
    marking
        Spread of the marks.

    Notes
    -----
    Two marks that tremble are never nearer than no gap: at a tip that touches the apex their distance is 1.25 SD on
    average (Rayleigh distribution). What they lie apart across the canal is no length of it; along the canal they err
    both ways alike. A gap is at least as much longer than its chord as the canal is there.

    Examples
    --------
    >>> beyond = fit_curve([(20.3, 0.4), (20.0, 0.0)])
    >>> place = gap_place(beyond, 0.5, [(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], (1.0, 1.0), Marking())
    >>> round(place.along_mm, 2), round(place.beside_mm, 2), place.in_canal
    (-0.3, 0.4, True)
    """
    canal = fit_curve(np.asarray(canal_px) * mm_per_px)
    turn, _ = _end(gap, canal, LEAST_COURSE_MM)
    if turn > 0:  # a tip short of the apex lies where the canal bends; beyond, there is no canal to follow
        turn, bend = _end(gap, canal, max(length_mm, LEAST_COURSE_MM))
        length_mm = max(length_mm, float(np.hypot(*gap.chord)) * bend)
    return GapPlace(
        float(np.hypot(*(gap.clicks[-1] - canal.clicks[-1]))),
        length_mm * turn,
        length_mm * math.sqrt(max(1 - turn * turn, 0.0)),
        math.hypot(marking.tip_mm, marking.apex_mm),
        canal.length,
    )


def _end(gap: Curve, canal: Curve, course_mm: float) -> tuple[float, float]:
    """Return the cosine of the angle between a gap and the last piece of its canal, and that piece over its chord."""
    course = min(course_mm, canal.length)
    way = canal.point_at(canal.length) - canal.point_at(canal.length - course)
    straight = float(np.hypot(*way))
    return float(gap.chord @ way / (np.hypot(*gap.chord) * straight)), course / straight
