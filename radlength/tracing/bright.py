"""Long bright lines in a corridor: metal or filling, in this canal or in the one beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, ROW_MM, Corridor
from radlength.tracing.filters import Table
from radlength.tracing.metal import Heights
from radlength.tracing.search import likely_course

FloatArray = NDArray[np.float64]

STRONG = 6.0
"""A line of metal stands out this many times what goes on around, somewhere."""
WEAK = 3.5
"""It is followed down to where it stands out this little."""
SHORTEST_MM = 2.0
FAINT, FAINT_MM = 4.2, 4.0
"""A filling, whose neighbours raise what goes on around, stands out less, but for longer."""
PIECE_MM = 0.75
"""Length that is strong in a further piece of a line, past a gap in a filling."""
NEAR_MM = (0.20, 0.17)
"""Clicks this near, root mean square, are on the line: two of them at most, and more."""
SCATTER_MM, BESIDE_MM, TURNS_MM, ODDS = 0.11, 0.6, 10.0, 1.0
"""More clicks are also on it where they rather scatter about it like this (SD) than lie along another straight line
beside, whose distance is like that (SD) and changes by as much over so many millimetres: by these odds, logarithms."""
END_ROWS = 6
"""Rows at the far end, where a click shows the apex and no metal is expected."""
WEIGHT = 1.6
"""As much as a clear dark canal: more, and a line that runs on beside ours outweighs the clicks."""
OWN_MM = 0.2
"""What lies this near to the line is part of it."""


@dataclass(frozen=True, slots=True, eq=False)
class BrightLine:
    """The bright line in a corridor that the clicks follow best.

    Parameters
    ----------
    rows
        Where that line is seen, shape (rows,).
    across_mm
        Its place across the corridor, shape (rows,); means nothing outside `rows`.
    clicks
        How many clicks lie beside a part of it that is seen.
    miss_mm
        Root mean square distance of the clicks from it; infinite for a line no click can be on.
    odds
        Logarithm of how much likelier they scatter about it than lie along another line beside it.
    weight
        What speaks for each place as its middle, shape (rows, 61).
    """

    rows: NDArray[np.bool_]
    across_mm: FloatArray
    clicks: int
    miss_mm: float
    odds: float
    weight: FloatArray

    @property
    def ours(self) -> bool:
        """Whether the clicks lie on it."""
        several = self.clicks > 2
        return self.miss_mm <= NEAR_MM[several] or (several and self.odds > ODDS)


def bright_line(found: Heights, around: float, corridor: Corridor) -> BrightLine | None:
    """Return the bright line of a corridor that the clicks follow best, or ``None``.

    Parameters
    ----------
    found
        How far places stand out over both sides.
    around
        How much goes on around, grey values.
    corridor
        The corridor.
    """
    height = np.asarray(found.height / max(around, found.noise), dtype=np.float64)
    top = highest(height)
    if not _seen(np.where(height >= top, height, 0).max(axis=1)).any():
        return None
    across = likely_course(WEIGHT * np.clip(height / np.maximum(top, STRONG), 0, 1) ** 2, corridor)
    near = np.abs(ACROSS_MM - across[:, None]) <= OWN_MM
    own = np.where(near, height, 0).max(axis=1)
    rows = _seen(own)
    share = np.where(near, np.clip(height / np.maximum(own[:, None], WEAK), 0, 1), 0)
    return BrightLine(rows, across, *_misses(rows, across, corridor), WEIGHT * share**2)


def highest(height: FloatArray | Table) -> FloatArray:
    """Return how much the places within 0.15 mm stand out at most."""
    import cv2  # noqa: PLC0415

    return np.asarray(cv2.dilate(height, np.ones((1, 7), np.uint8)))


def _seen(height: FloatArray) -> NDArray[np.bool_]:
    """Return the rows along which a line is seen, given how much it stands out at every row.

    Runs above `WEAK` that hold 2 mm of `STRONG` or 4 mm of `FAINT`; where there are any, shorter pieces too.
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], height > WEAK, [False]])))
    runs = [(slice(start, stop), height[start:stop]) for start, stop in edges.reshape(-1, 2)]
    lines = [run for run, here in runs if _mm(here > STRONG) >= SHORTEST_MM or _mm(here > FAINT) >= FAINT_MM]
    pieces = [run for run, here in runs if _mm(here > STRONG) >= PIECE_MM]
    kept = np.zeros(len(height), dtype=np.bool_)
    for run in (*lines, *pieces) if lines else ():
        kept[run] = True
    return kept


def _mm(rows: NDArray[np.bool_]) -> float:
    """Return how long the rows are together, mm."""
    return float(rows.sum() * ROW_MM)


def _misses(rows: NDArray[np.bool_], across: FloatArray, corridor: Corridor) -> tuple[int, float, float]:
    """Return how many clicks lie beside rows of a line, their distance from it, and the odds that they are on it."""
    at, side, _ = corridor.offsets()
    here = rows[at] & (at < len(rows) - END_ROWS)
    if not here.any():
        return 0, float("inf"), -float("inf")
    misses = across[at[here]] - side[here]
    along_mm = np.asarray(ROW_MM * at[here], dtype=np.float64)
    return len(misses), float(np.sqrt(np.mean(misses**2))), _odds(along_mm, misses)


def _odds(along_mm: FloatArray, misses: FloatArray) -> float:
    """Return the logarithm of how much likelier misses are scatter alone than scatter about a straight line beside.

    Both are normal with mean 0: variances of the second come from distance and direction of the line (a Bayes factor,
    Kass and Raftery 1995, Journal of the American Statistical Association 90, 773).
    """
    turn = (along_mm - along_mm.mean()) / TURNS_MM
    scatter = SCATTER_MM**2 * np.eye(len(misses))
    beside = scatter + BESIDE_MM**2 * (1 + np.outer(turn, turn))

    def told(variance: FloatArray) -> float:
        return -0.5 * float(misses @ np.linalg.solve(variance, misses) + np.linalg.slogdet(variance)[1])

    return told(scatter) - told(beside)
