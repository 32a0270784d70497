"""One look at a corridor, and which of two to believe: a canal has dentine on both sides, in the middle of its root."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import EVERY, FINE_MM, ROW_MM, Corridor, Strip
from radlength.tracing.evidence import Evidence
from radlength.tracing.hook import hooked
from radlength.tracing.middle import middle_beside
from radlength.tracing.search import Courses
from radlength.tracing.signs import INNER_MM, OUTER_MM, along, beside

FloatArray = NDArray[np.float64]

APART_MM = 0.25
"""Two lines nearer than this are one."""
LONGEST_MM = 6.5
"""A hook leaves the other course no further than this from the apex."""
CORE_MM = 0.1
"""Half width of the line itself."""
MORE_SEEN = 0.5
"""Along a hook, where both run apart, more speaks for a canal than along the other line, mean of evidence. Of 71 hooks
on development scenes that were right 66 showed it, of 15 that were not 6, all of these drawn elsewhere."""
OFF_MM, NEARER_MM, LEAST_LONG_MM = 0.25, 0.1, 1.2
"""The usual line runs this far from the middle of the root, and a hook so much nearer to it, along so much of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A corridor, what was seen in it, and the line found.

    Parameters
    ----------
    corridor, strip, evidence, courses
        The steps on the way.
    across_mm
        Place of the line across the corridor at every row, shape (rows,).
    """

    corridor: Corridor
    strip: Strip
    evidence: Evidence
    courses: Courses
    across_mm: FloatArray

    @property
    def path_mm(self) -> FloatArray:
        """The line, (row, column) in mm, shape (rows, 2)."""
        return np.asarray(self.corridor.rows_mm + self.across_mm[:, None] * self.corridor.rows_across)


def hook_or_usual(usual: Look, hook: Look) -> Look:
    """Return the look to believe: the usual one unless a canal is seen in the root where the hook runs apart from it.

    Beside a canal is dentine, brighter than what lies beside a root: the darker side of the line of a hook must be
    brighter than that of the usual line, and the line itself brighter than the brighter of both sides farther off.
    The edge of a root, which looks like a hooked canal, has bone on one side.

    Parameters
    ----------
    usual, hook
        Two looks at one image through the same clicks.
    """
    first, second = (_apart(one, other) for one, other in ((usual, hook), (hook, usual)))
    if not first.any() or not second.any() or second.sum() * ROW_MM > LONGEST_MM:
        return usual
    line, far = (_grey(hook, second, *reach) for reach in ((0.0, CORE_MM), OUTER_MM))
    inside = _brighter(usual, first, hook, second) > 0 and line.mean() > far.max(axis=0).mean()
    return hook if inside and _seen(hook, second) - _seen(usual, first) > MORE_SEEN else usual


def off_middle_mm(usual: Look, other: Look) -> float:
    """Return how far from the middle of the root a line is where another speaks against it, mm, or 0.

    The other is nearer to the middle, has dentine on both sides rather than the line, and more is seen along it. That
    is a doubt and no more: in a root of two canals neither runs in the middle.

    Parameters
    ----------
    usual, other
        Two looks at one image through the same clicks.
    """
    first, second = _apart(usual, other), _apart(other, usual)
    if not first.any() or not LEAST_LONG_MM <= second.sum() * ROW_MM <= LONGEST_MM:
        return 0.0
    seen = _seen(other, second) - _seen(usual, first) > MORE_SEEN
    if not seen or _brighter(usual, first, other, second) <= 0:
        return 0.0
    off, less = (_off_mm(look, rows) for look, rows in ((usual, first), (other, second)))
    return off if off >= OFF_MM and less <= off - NEARER_MM else 0.0


def in_hook(usual: Look) -> Corridor | None:
    """Return the corridor round the likeliest hooked course, or ``None`` where none is likely.

    Parameters
    ----------
    usual
        A look.
    """
    return hooked(usual.courses.chain, usual.corridor)


def _brighter(usual: Look, first: NDArray[np.bool_], other: Look, second: NDArray[np.bool_]) -> float:
    """Return by how much the darker side of some rows of a line is brighter than that of some rows of the usual one."""
    near, usually = (
        _grey(look, rows, *INNER_MM).min(axis=0).mean() for look, rows in ((other, second), (usual, first))
    )
    return float(near - usually)


def _off_mm(look: Look, rows: NDArray[np.bool_]) -> float:
    """Return how far some rows of a line lie from the middle of the root, not a number where no root shows."""
    middle = middle_beside(look.strip, look.across_mm, look.evidence.around)
    off = None if middle is None else middle.off_along_mm(rows)
    return np.nan if off is None else off


def _apart(one: Look, other: Look) -> NDArray[np.bool_]:
    """Return at which rows of one look its line is apart from the other's, shape (rows,)."""
    away = one.path_mm[:, None] - other.path_mm[None]
    return np.asarray(np.hypot(away[..., 0], away[..., 1]).min(axis=1) > APART_MM)


def _seen(look: Look, rows: NDArray[np.bool_]) -> float:
    """Return what speaks for a canal along some rows of the line, mean of rows."""
    return float(along(look.evidence.weight, look.across_mm)[rows].mean())


def _grey(look: Look, rows: NDArray[np.bool_], near_mm: float, far_mm: float) -> FloatArray:
    """Return the mean grey of both sides of some rows of the line, from so near to so far, shape (2, rows)."""
    reach = np.arange(near_mm, far_mm + 1e-9, FINE_MM)
    strip, across = look.strip[::EVERY][rows], look.across_mm[rows]
    return np.stack([beside(strip, across, side * reach).mean(axis=1) for side in (-1, 1)])
