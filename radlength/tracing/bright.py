"""A long bright line in a corridor: metal or filling, in this canal or in the one beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, ROW_MM, Corridor
from radlength.tracing.filters import Table

FloatArray = NDArray[np.float64]

STRONG = 6.0
"""A line of metal stands out this many times what goes on around, somewhere."""
WEAK = 1.8
"""It is followed down to where it stands out this little."""
OVER_DARK = 1.2
"""It stands out more than the dark seams beside it."""
SHORTEST_MM = 2.0
NEAR_MM = 0.24
"""Clicks this near, root mean square, are on the line."""
CENTRAL_MM = 1.0
"""A line further from the corridor's middle than this is another canal's."""
END_ROWS = 6
"""Rows at the far end, where a click shows the apex and no metal is expected."""


@dataclass(frozen=True, slots=True, eq=False)
class BrightLine:
    """A bright line in a corridor.

    Parameters
    ----------
    rows
        Where it is, shape (rows,).
    across_mm
        Its place across the corridor, shape (rows,); means nothing outside `rows`.
    miss_mm
        Root mean square distance of the clicks from it; infinite for a line no click can be on.
    """

    rows: NDArray[np.bool_]
    across_mm: FloatArray
    miss_mm: float

    @property
    def ours(self) -> bool:
        """Whether the clicks lie on it."""
        return self.miss_mm <= NEAR_MM


def bright_line(lines: Table, around: FloatArray, corridor: Corridor) -> BrightLine | None:
    """Return the bright line of a corridor, or ``None``.

    Parameters
    ----------
    lines
        Answers to narrow lines, smoothed along, shape (rows, 3, 61), dark positive.
    around
        How much goes on around, shape (rows,).
    corridor
        The corridor.
    """
    from scipy.ndimage import gaussian_filter1d, median_filter  # noqa: PLC0415

    light, dark = (-lines[:, :2]).max(axis=1), lines[:, :2].max(axis=1)
    bright = gaussian_filter1d(light.max(axis=1) / around, 2)
    seams = gaussian_filter1d(dark.max(axis=1) / around, 2)
    rows = _lasting((bright > WEAK) & (bright > OVER_DARK * seams), bright > STRONG)
    if not rows.any():
        return None
    across = median_filter(ACROSS_MM[light.argmax(axis=1)], 9, mode="nearest")
    return BrightLine(rows, across, _miss_mm(rows, across, corridor))


def _lasting(weak: NDArray[np.bool_], strong: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the runs of `weak` that hold 2 mm of `strong`."""
    kept = np.zeros(len(weak), dtype=np.bool_)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], weak.astype(np.int8), [0]])))
    for start, stop in edges.reshape(-1, 2):
        if strong[start:stop].sum() * ROW_MM >= SHORTEST_MM:
            kept[start:stop] = True
    return kept


def _miss_mm(rows: NDArray[np.bool_], across: FloatArray, corridor: Corridor) -> float:
    at, side, _ = corridor.offsets()
    misses = [across[i] - u for i, u in zip(at, side, strict=True) if rows[i] and i < len(rows) - END_ROWS]
    if not misses or np.median(np.abs(across[rows])) > CENTRAL_MM:
        return float("inf")
    return float(np.sqrt(np.mean(np.square(misses))))
