"""How far every place of a strip stands out over both its sides, at the width that suits it: metal does, by much.

The lower of both sides counts, so that an edge does not answer, and the darkest place inside, so that two lines do not
answer as one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, WIDE_ACROSS_MM
from radlength.tracing.filters import ALONG_MM, Table, noise_sd, smooth_along

HALF_WIDTHS = (2, 3, 4, 5, 6, 8, 10, 12, 14, 16)
"""Half widths of a line, in steps of 0.05 mm: from a fine instrument's tip to the shaft of a thick one."""
INSIDE = 0.6
"""Part of a half width that is looked at as the inside."""
FLANK = 2
"""Steps from the border of a line to what is looked at as its side: the border is not sharp."""
BEYOND = 14
"""Steps past the side that are looked at too: between two dark lines, what lies past them is as bright as inside."""
_PAD = 32
_MARGIN = (len(WIDE_ACROSS_MM) - len(ACROSS_MM)) // 2


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """How far places stand out.

    Parameters
    ----------
    wide
        Darkest place inside less the brighter side, grey values, shape (rows, 121).
    wide_half_mm
        Half width it was found with, shape (rows, 121).
    rows
        The grey values looked at, those at the edges going on for 32 steps, shape (rows, 185).
    noise
        SD of what noise alone leaves in a row, grey values.
    """

    wide: Table
    wide_half_mm: Table
    rows: Table
    noise: float

    @property
    def height(self) -> Table:
        """The same in the corridor alone, shape (rows, 61)."""
        return self.wide[:, _MARGIN:-_MARGIN]

    @property
    def half_mm(self) -> Table:
        """The same in the corridor alone, shape (rows, 61)."""
        return self.wide_half_mm[:, _MARGIN:-_MARGIN]

    def alone(self, places: NDArray[np.bool_]) -> Table:
        """Return how far places, shape (rows, 121), stand out over all within 0.7 mm past the side, on the darker one.

        One value for each place that is true, in the order of :func:`numpy.nonzero`.

        Dentine between two canals hardly does: what lies past the canals is as bright.
        """
        import cv2  # noqa: PLC0415

        brightest = cv2.dilate(self.rows, np.ones((1, BEYOND + 1), np.uint8))
        row, column = np.nonzero(places)
        side = np.rint(self.wide_half_mm[places] / FINE_MM).astype(np.intp) + FLANK
        past = side + BEYOND // 2
        column = column + _PAD
        sides = np.maximum(self.rows[row, column - side], self.rows[row, column + side])
        beyond = np.minimum(brightest[row, column - past], brightest[row, column + past])
        return np.asarray(self.wide[places] + sides - beyond)


def heights(strip: Table) -> Heights:
    """Return how far every place of a strip, shape (3 k + 1, 121), stands out over both its sides."""
    return heights_of_rows(smooth_along(strip, ALONG_MM)[::EVERY])


def heights_of_rows(smooth: Table) -> Heights:
    """Return the same of a strip's rows every 0.15 mm, already smoothed along, shape (rows, 121)."""
    import cv2  # noqa: PLC0415

    rows = np.asarray(cv2.copyMakeBorder(smooth, 0, 0, _PAD, _PAD, cv2.BORDER_REPLICATE), dtype=np.float32)
    first, count = _PAD, smooth.shape[1]
    best = np.full((len(rows), count), -np.inf, dtype=np.float32)
    half = np.zeros(best.shape, dtype=np.uint8)
    inside, reached = rows, 0
    for width in HALF_WIDTHS:
        reach = round(INSIDE * width) if width > HALF_WIDTHS[0] else 0
        if reach > reached:  # the darkest of the darkest is the darkest of all
            around = np.ones((1, 2 * (reach - reached) + 1), np.uint8)
            inside = np.asarray(cv2.erode(inside, around), dtype=np.float32)
            reached = reach
        left, right = first - width - FLANK, first + width + FLANK
        sides = np.maximum(rows[:, left : left + count], rows[:, right : right + count])
        found = inside[:, first : first + count] - sides
        np.maximum(half, (found > best) * np.uint8(width), out=half)  # the widths grow
        np.maximum(best, found, out=best)
    return Heights(best, half * np.float32(FINE_MM), rows, noise_sd(smooth, axis=1))
