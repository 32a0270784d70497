"""Letters that no font of the PDF has, as outlines of those that OpenCV carries: Chinese, Japanese and Korean ones.

They are of WenQuanYi Micro Hei, Apache License 2.0 (``modules/imgproc/fonts/WQY_README.txt`` in OpenCV's sources). An
OpenCV that was built without it has no outline of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.report.lettering import FONT

EM = 160
"""Size at which a letter is drawn to take its outline, pixels."""

BASE = round(1.3 * EM), EM // 2
"""Row and column of its left end on the baseline, in a picture twice as high and as wide as `EM`."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A letter of size one, its left end on the baseline at (0, 0), y upward.

    Parameters
    ----------
    width
        How far the next letter stands.
    rings
        Closed lines, (x, y) points, shape (N, 2) each; what lies within an even number of them is not filled.
    """

    width: float
    rings: tuple[NDArray[np.float64], ...]

    def fill(self, canvas: Any, x: float, y: float, size: float) -> None:
        """Fill the letter on a canvas of the PDF, its left end on the baseline at (x, y), in points."""
        path = canvas.beginPath()
        for ring in self.rings:
            placed = ring * size + (x, y)
            path.moveTo(*placed[0])
            for point in placed[1:]:
                path.lineTo(*point)
            path.close()
        canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


@lru_cache(maxsize=2048)
def outline(sign: str) -> Outline | None:
    """Return the outline of a letter, ``None`` where OpenCV's font lacks it too.

    Examples
    --------
    >>> outline("山").width, outline("\N{THAI CHARACTER KO KAI}") is None
    (1.06875, True)
    """
    drawn = _drawn(sign)
    if np.array_equal(drawn, _drawn("?")):
        return None
    width = cv2.getTextSize((0, 0), sign, (0, 0), cv2.FontFace(FONT), EM)[2]
    found, _ = cv2.findContours((drawn > 127).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    rings = tuple(
        np.column_stack([ring[:, 0] - BASE[1], BASE[0] - ring[:, 1]]) / EM
        for line in found
        if len(ring := cv2.approxPolyDP(line, 0.7, True)[:, 0].astype(float)) > 2
    )
    return Outline(width / EM, rings)


def _drawn(sign: str) -> NDArray[np.uint8]:
    pixels = np.zeros((2 * EM, 2 * EM, 3), np.uint8)
    cv2.putText(pixels, sign, BASE[::-1], (255, 255, 255), cv2.FontFace(FONT), EM)
    return pixels[:, :, 0]
