"""What a trace shows of its own quality, as numbers: nothing is judged here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, ROW_MM, WIDE_ACROSS_MM, Corridor, Strip
from radlength.tracing.crown import crown_share
from radlength.tracing.distance import distance
from radlength.tracing.evidence import Evidence
from radlength.tracing.filters import noise_sd
from radlength.tracing.order import median
from radlength.tracing.search import Courses

FloatArray = NDArray[np.float64]

WITHIN_MM = 0.3
"""A course further from the trace than this is another one."""
CROWN_SHARE = 1 / 3
"""Part of a path from a cusp on, from its first click, where no canal need be seen."""
WINDOW_MM = 3.0
CORE_MM = 0.3
"""Where, on the trace, grey without any change is looked for."""
INNER_MM, OUTER_MM = (0.3, 0.7), (1.2, 2.2)
"""Beside a canal, where its root is, and farther away, where on one side at least a root has mostly ended."""
USUAL_OUTER = -1.4
"""How much brighter it is there than beside the canal, usually."""
LAST_ROWS = 6
"""Rows at the far end, where a root ends too."""


@dataclass(frozen=True, slots=True, eq=False)
class Signs:
    """Numbers about a trace, at its rows every 0.15 mm.

    Parameters
    ----------
    stray
        Probability that the canal runs more than 0.3 mm from the trace, shape (rows,).
    kept
        Probability that the canal runs within 0.3 mm of the trace all along its root.
    seen
        Evidence along the trace, mean over 3 mm, shape (rows,).
    clear
        How much a long line stands out there from what goes on around, mean over 3 mm, shape (rows,).
    edge
        Grey of one side less that of the other, in depths of the line, mean over 3 mm, shape (rows,).
    outer
        How much brighter it is 1.2 to 2.2 mm beside the trace than 0.3 to 0.7 mm beside, mean of both sides below the
        crown, in units of what goes on around: negative in a root, which is brighter than the bone round it.
        `USUAL_OUTER` where nobody knows whether roots are bright.
    structure
        How much goes on around, in units of what the noise of single pixels alone would make.
    flat, saturated
        Rows without any change across the trace that are no metal, and those of them at the end of the grey scale,
        shape (rows,). Crowns are often white: in the crown that does not count.
    across_mm
        Place of the trace across the corridor, shape (rows,).
    click_miss_mm
        Distance of the inner clicks from the trace, shape (N - 2,); and of all clicks from the smooth curve.
    curve_miss_mm
        Distance of the clicks from the smooth curve the corridor follows, shape (N,).
    metal
        Rows on a bright line, shape (rows,).
    metal_miss_mm
        Root mean square distance of the clicks from it; 0 where there is none.
    hidden
        Rows that a bright line taken for another canal's covers, shape (rows,).
    assumed_mm
        Side of a pixel where it was only assumed: what is said then speaks of pixels. ``None`` where it is known.
    """

    stray: FloatArray
    kept: float
    seen: FloatArray
    clear: FloatArray
    edge: FloatArray
    outer: float
    structure: float
    flat: NDArray[np.bool_]
    saturated: NDArray[np.bool_]
    across_mm: FloatArray
    click_miss_mm: FloatArray
    curve_miss_mm: FloatArray
    metal: NDArray[np.bool_]
    metal_miss_mm: float
    hidden: NDArray[np.bool_]
    assumed_mm: float | None = None

    def told(self, length_mm: float, digits: int = 1) -> str:
        """Return a distance in words, in pixels where their size was only assumed."""
        return distance(length_mm, digits, assumed_mm=self.assumed_mm)

    @property
    def root(self) -> slice:
        """The rows below the crown."""
        return _root(len(self.seen))


def signs_of(
    strip: Strip,
    corridor: Corridor,
    evidence: Evidence,
    courses: Courses,
    across_mm: FloatArray,
    ends: tuple[float, float],
    *,
    bright_roots: bool = True,
    assumed_mm: float | None = None,
) -> Signs:
    """Return the signs of a trace.

    Parameters
    ----------
    strip, corridor, evidence, courses
        What it was made from.
    across_mm
        Its place across the corridor at every row.
    ends
        Lowest and highest grey the image can store.
    bright_roots
        Whether roots are known to be brighter than bone in the strip.
    assumed_mm
        Side of a pixel where it was only assumed.
    """
    at, side, away_mm = corridor.offsets()
    apart = np.abs(ACROSS_MM - across_mm[courses.rows][:, None])
    stray = (courses.share * (apart > WITHIN_MM)).sum(axis=1)
    rows = strip[::EVERY]
    core = beside(rows, across_mm, np.arange(-CORE_MM, CORE_MM + 1e-9, FINE_MM))
    line, none = evidence.line, np.zeros(len(rows), dtype=np.bool_)
    metal = line.rows if line and line.ours else none
    root = _root(len(rows))
    flat = (np.ptp(core, axis=1) <= 0) & ~metal
    full = flat & ((core[:, 0] <= ends[0]) | (core[:, 0] >= ends[1]))
    flat[: root.start] &= ~full[: root.start]
    return Signs(
        stray=np.interp(np.arange(len(rows)), courses.rows, stray),
        kept=courses.within(across_mm, WITHIN_MM, crown_share(len(rows), CROWN_SHARE)),
        seen=_mean(along(evidence.weight, across_mm)),
        clear=_mean(along(evidence.long, across_mm)),
        edge=_mean(along(np.minimum(evidence.one_sided, 20.0), across_mm)),
        outer=_outer(rows[root], across_mm[root], evidence, root) if bright_roots else USUAL_OUTER,
        structure=_structure(strip, evidence.around),
        flat=flat,
        saturated=flat & full,
        across_mm=across_mm,
        click_miss_mm=np.abs(across_mm[at] - side)[1:-1],
        curve_miss_mm=away_mm,
        metal=metal,
        metal_miss_mm=line.miss_mm if line and line.ours else 0.0,
        hidden=np.asarray(along(evidence.hidden, across_mm), dtype=np.bool_),
        assumed_mm=assumed_mm,
    )


def _root(rows: int) -> slice:
    """Return the rows below the crown, of so many."""
    return slice(int(rows * crown_share(rows, CROWN_SHARE)), None)


def _outer(rows: Strip, across_mm: FloatArray, evidence: Evidence, root: slice) -> float:
    """Return how much brighter it is farther beside places than near them, all but the last rows.

    Beside a wide canal it is as far as its walls.
    """
    if len(rows) <= LAST_ROWS:
        return USUAL_OUTER
    if evidence.wide is not None:
        return float(along(evidence.wide.beyond[root], across_mm)[:-LAST_ROWS].mean())
    outer, inner = (
        float(beside(rows[:-LAST_ROWS], across_mm[:-LAST_ROWS], _both_sides(*reach)).mean())
        for reach in (OUTER_MM, INNER_MM)
    )
    return (outer - inner) / median(evidence.around[root])


def _both_sides(near_mm: float, far_mm: float) -> FloatArray:
    reach = np.arange(near_mm, far_mm + 1e-9, FINE_MM)
    return np.concatenate([-reach, reach])


def _structure(strip: Strip, around: FloatArray) -> float:
    """Return how much goes on around over what white noise would make of it."""
    return float(median(around) / max(noise_sd(strip[:, 30:91], axis=0), 1e-6))


def along(weight: NDArray[np.generic], across_mm: FloatArray) -> FloatArray:
    """Return what stands in a table of shape (rows, 61) along a line, shape (rows,)."""
    column = np.clip(np.rint((across_mm - ACROSS_MM[0]) / FINE_MM), 0, len(ACROSS_MM) - 1).astype(int)
    return np.asarray(weight[np.arange(len(weight)), column])


def beside(rows: Strip, across_mm: FloatArray, reach: FloatArray) -> Strip:
    """Return the grey of a strip beside a line, so far (mm) from it, shape (rows, reaches)."""
    column = np.rint((across_mm[:, None] + reach - WIDE_ACROSS_MM[0]) / FINE_MM).astype(int)
    return np.take_along_axis(rows, np.clip(column, 0, rows.shape[1] - 1), axis=1)


def _mean(values: FloatArray) -> FloatArray:
    from scipy.ndimage import uniform_filter1d  # noqa: PLC0415

    size = min(round(WINDOW_MM / ROW_MM), len(values))
    return np.asarray(uniform_filter1d(values, size, mode="nearest"), dtype=np.float64)
