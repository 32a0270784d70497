"""A drawing surface over an enlarged image: lines with a dark halo, marks by shape, text in a real font."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Colour = tuple[int, int, int]
"""Red, green, blue, 0..255."""

BLUE: Colour = (86, 180, 233)
ORANGE: Colour = (230, 159, 0)
GREEN: Colour = (0, 158, 115)
YELLOW: Colour = (240, 228, 66)
PINK: Colour = (204, 121, 167)
WHITE: Colour = (255, 255, 255)
GREY: Colour = (170, 170, 170)
DARK: Colour = (22, 22, 26)
CANAL_COLOURS: tuple[Colour, ...] = (BLUE, YELLOW, GREEN, PINK)
"""Colours told apart with any colour vision (Okabe and Ito 2008)."""

_SHIFT = 4
_ONE = 1 << _SHIFT


@dataclass(slots=True)
class Canvas:
    """An RGB picture and the enlargement from image pixels to it.

    Parameters
    ----------
    pixels
        Shape (rows, columns, 3), uint8.
    zoom
        Picture pixels for one image pixel.
    origin_px
        (row, column) of the image at the picture's top left pixel.
    """

    pixels: NDArray[np.uint8]
    zoom: float
    origin_px: tuple[float, float] = (0.0, 0.0)

    def at(self, points_px: Any) -> NDArray[np.float64]:
        """Return (x, y) in the picture of (row, column) image points, pixel centres kept, shape (N, 2)."""
        points = np.atleast_2d(np.asarray(points_px, dtype=np.float64)) - self.origin_px
        return np.asarray((points[:, ::-1] + 0.5) * self.zoom - 0.5)

    def line(self, points_px: Any, colour: Colour, width: int = 2) -> None:
        """Draw a line through image points with a dark halo."""
        self._lines([self.at(points_px)], colour, width, halo=3)

    def dashes(self, points_px: Any, colour: Colour, width: int = 2) -> None:
        """Draw a dashed line through image points, without halo, so that it shows on top of another line."""
        self._lines(_dashes(self.at(points_px)), colour, width, halo=0)

    def _lines(self, parts: list[NDArray[np.float64]], colour: Colour, width: int, halo: int) -> None:
        for drawn, extra in ((DARK, halo), (colour, 0)):
            for part in parts:
                fixed = np.rint(part * _ONE).astype(np.int32).reshape(-1, 1, 2)
                cv2.polylines(self.pixels, [fixed], False, drawn, width + extra, cv2.LINE_AA, _SHIFT)

    def cross(self, point_px: Any, colour: Colour, size: int = 9) -> None:
        """Draw an upright cross: the radiographic apex."""
        x, y = self.at(point_px)[0]
        self._strokes([((x - size, y), (x + size, y)), ((x, y - size), (x, y + size))], colour)

    def diamond(self, point_px: Any, colour: Colour, size: int = 9) -> None:
        """Draw a diamond: the reference point."""
        x, y = self.at(point_px)[0]
        corners = [(x, y - size), (x + size, y), (x, y + size), (x - size, y)]
        self._strokes(list(zip(corners, corners[1:] + corners[:1], strict=True)), colour)

    def square(self, point_px: Any, colour: Colour, size: int = 6) -> None:
        """Draw a square: an end of the reference."""
        x, y = self.at(point_px)[0]
        corners = [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)]
        self._strokes(list(zip(corners, corners[1:] + corners[:1], strict=True)), colour)

    def dot(self, point_px: Any, colour: Colour, size: int = 3) -> None:
        """Draw a dot: a click."""
        centre = np.rint(self.at(point_px)[0] * _ONE).astype(int)
        for drawn, extra in ((DARK, 2), (colour, 0)):
            cv2.circle(self.pixels, centre.tolist(), (size + extra) * _ONE, drawn, -1, cv2.LINE_AA, _SHIFT)

    def _strokes(self, strokes: list[tuple[Any, Any]], colour: Colour) -> None:
        for drawn, width in ((DARK, 6), (colour, 2)):
            for start, end in strokes:
                a, b = (np.rint(np.array(p) * _ONE).astype(int).tolist() for p in (start, end))
                cv2.line(self.pixels, a, b, drawn, width, cv2.LINE_AA, _SHIFT)


def text_width(text: str, size: int, weight: int = 400) -> int:
    """Return the width of a text in pixels."""
    box = cv2.getTextSize((4000, 4000), text, (0, 0), cv2.FontFace("sans"), size, weight)
    return int(box[2])


def write_text(
    pixels: NDArray[np.uint8], text: str, xy: tuple[int, int], colour: Colour, size: int, weight: int = 400
) -> None:
    """Write one line of text, its baseline starting at (x, y)."""
    cv2.putText(pixels, text, xy, colour, cv2.FontFace("sans"), size, weight)


def wrapped(text: str, width: int, size: int) -> list[str]:
    """Return a text as lines that fit a width in pixels."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def _dashes(xy: NDArray[np.float64], dash: float = 12.0, gap: float = 7.0) -> list[NDArray[np.float64]]:
    steps = np.hypot(*np.diff(xy, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    parts = []
    for start in np.arange(0.0, along[-1], dash + gap):
        s = np.linspace(start, min(start + dash, along[-1]), 4)
        parts.append(np.column_stack([np.interp(s, along, xy[:, 0]), np.interp(s, along, xy[:, 1])]))
    return parts
