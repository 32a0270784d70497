"""Where a label may stand: beside its mark, over no apex, no tip and no other label."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from radlength.report.canvas import Canvas
from radlength.report.colours import Colour
from radlength.report.lettering import box_size, write_boxed

FloatArray = NDArray[np.float64]
_CLEAR = 26.0


class Labels:
    """The free room on a canvas.

    Parameters
    ----------
    canvas
        Where the labels are written.
    keep_clear_px
        (row, column) points of the image that no label may cover, shape (N, 2): apices and tips.
    lines_px
        Points of lines that labels rather avoid, shape (N, 2).
    """

    def __init__(self, canvas: Canvas, keep_clear_px: FloatArray, lines_px: FloatArray) -> None:
        self._canvas = canvas
        self._clear = canvas.at(keep_clear_px)
        self._lines = canvas.at(lines_px)
        self._taken: list[tuple[float, float, float, float]] = []

    def write(
        self, texts: Sequence[str], at_px: object, colour: Colour, size: int, weight: int = 400
    ) -> bool:
        """Write a label beside a point of the image.

        Parameters
        ----------
        texts
            The same label long and short; the longest that hides the least is taken.
        at_px
            (row, column) of the point.
        colour, size, weight
            Of the letters.

        Returns
        -------
        bool
            Whether there was room. Without room nothing is written.
        """
        x, y = self._canvas.at(at_px)[0]
        found = [
            (cost, text, place, width, height)
            for text in texts
            for width, height in [box_size(text, size, weight)]
            for wanted in _places(float(x), float(y), width, height)
            for place in [(self._pushed_in(wanted[0], width), wanted[1])]
            if (cost := self._cost(place, width, height, pushed=abs(place[0] - wanted[0]))) is not None
        ]
        if not found:
            return False
        _, text, (left, top), width, height = min(found, key=lambda item: item[0])
        self._taken.append((left, top, left + width, top + height))
        write_boxed(self._canvas.pixels, text, (round(left), round(top)), colour, size, weight)
        return True

    def _pushed_in(self, left: float, width: int) -> float:
        return min(max(left, 0.0), float(self._canvas.pixels.shape[1] - width))

    def _cost(self, place: tuple[float, float], width: int, height: int, *, pushed: float) -> float | None:
        left, top = place
        right, bottom = left + width, top + height
        rows, columns = self._canvas.pixels.shape[:2]
        if left < 0 or top < 0 or right > columns or bottom > rows:
            return None
        if any(left < r and right > x and top < b and bottom > y for x, y, r, b in self._taken):
            return None
        if _inside(self._clear, left - _CLEAR, top - _CLEAR, right + _CLEAR, bottom + _CLEAR):
            return None
        return _inside(self._lines, left - 4, top - 4, right + 4, bottom + 4) + pushed / 20


def _places(x: float, y: float, width: int, height: int) -> Iterable[tuple[float, float]]:
    for away in (18.0, 34.0, 60.0):
        for top in (y - height / 2, y - height - away, y + away):
            yield x + away, top
            yield x - away - width, top
        yield x - width / 2, y - height - away
        yield x - width / 2, y + away


def _inside(points: FloatArray, left: float, top: float, right: float, bottom: float) -> int:
    x, y = points.T
    return int(((x > left) & (x < right) & (y > top) & (y < bottom)).sum())
