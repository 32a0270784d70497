"""How far every place of a strip stands out over both its sides, at the width that suits it: metal does, by much.

The lower of both sides counts, so that an edge does not answer, and the darkest place inside, so that two lines do not
answer as one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, WIDE_ACROSS_MM
from radlength.tracing.filters import ALONG_MM, Table, smooth_along

FloatArray = NDArray[np.float64]

HALF_WIDTHS = (2, 3, 4, 5, 6, 8, 10, 12, 14, 16)
"""Half widths of a line, in steps of 0.05 mm: from a fine instrument's tip to the shaft of a thick one."""
INSIDE = 0.6
"""Part of a half width that is looked at as the inside."""
FLANK = 2
"""Steps from the border of a line to what is looked at as its side: the border is not sharp."""
_PAD = 20
_MARGIN = (len(WIDE_ACROSS_MM) - len(ACROSS_MM)) // 2


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """How far places stand out.

    Parameters
    ----------
    height
        Darkest place inside less the brighter side, grey values, shape (rows, 61).
    half_mm
        Half width it was found with, shape (rows, 61).
    noise
        SD of what noise alone leaves in a row, grey values.
    """

    height: Table
    half_mm: FloatArray
    noise: float


def heights(strip: Table) -> Heights:
    """Return how far every place of a strip, shape (3 k + 1, 121), stands out over both its sides."""
    import cv2  # noqa: PLC0415

    rows = np.pad(smooth_along(strip, ALONG_MM)[::EVERY], ((0, 0), (_PAD, _PAD)), mode="edge")
    first, count = _PAD + _MARGIN, len(ACROSS_MM)
    best = np.full((len(rows), count), -np.inf, dtype=np.float32)
    half = np.zeros(best.shape)
    for width in HALF_WIDTHS:
        reach = max(round(INSIDE * width), 1)
        inside = cv2.erode(rows, np.ones((1, 2 * reach + 1), np.uint8)) if width > 2 else rows
        left, right = first - width - FLANK, first + width + FLANK
        sides = np.maximum(rows[:, left : left + count], rows[:, right : right + count])
        found = inside[:, first : first + count] - sides
        np.copyto(half, width * FINE_MM, where=found > best)
        np.maximum(best, found, out=best)
    bends = np.abs(np.diff(rows[:, _PAD:-_PAD], n=2, axis=1))
    return Heights(best, half, float(np.median(bends)) / (0.6745 * 6**0.5))
