"""A drawing surface over an enlarged image: lines with a dark halo, marks told apart by shape."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.report.colours import DARK, Colour

_SHIFT = 4
_ONE = 1 << _SHIFT
APEX_GAP = 7
"""Nothing is drawn nearer to an apex than this many picture pixels, halo aside."""

FloatArray = NDArray[np.float64]


@dataclass(slots=True)
class Canvas:
    """An RGB picture and the way from image pixels into it.

    Parameters
    ----------
    pixels
        Shape (rows, columns, 3), uint8.
    zoom
        Picture pixels for one image pixel, (down, across).
    border
        Dark picture pixels above and left of the image.
    origin_px
        (row, column) of the image at its top left pixel that is shown.
    """

    pixels: NDArray[np.uint8]
    zoom: tuple[float, float] = (1.0, 1.0)
    border: int = 0
    origin_px: tuple[float, float] = (0.0, 0.0)

    @classmethod
    def over(
        cls,
        grey: NDArray[np.uint8],
        zoom: tuple[float, float],
        *,
        border: int = 0,
        origin_px: tuple[float, float] = (0.0, 0.0),
    ) -> Canvas:
        """Return a canvas over an enlarged or shrunk grey image with a dark border.

        Parameters
        ----------
        grey
            Shape (rows, columns), uint8.
        zoom
            Wanted picture pixels for one image pixel, (down, across); kept to whole pixels of the picture.
        border, origin_px
            See the class.
        """
        rows, columns = (max(round(n * z), 1) for n, z in zip(grey.shape, zoom, strict=True))
        how = cv2.INTER_CUBIC if rows >= grey.shape[0] else cv2.INTER_AREA
        enlarged = cv2.resize(grey, (columns, rows), interpolation=how)
        pixels = np.full((rows + 2 * border, columns + 2 * border, 3), DARK, np.uint8)
        pixels[border : border + rows, border : border + columns] = enlarged[..., None]
        return cls(pixels, (rows / grey.shape[0], columns / grey.shape[1]), border, origin_px)

    def at(self, points_px: Any) -> FloatArray:
        """Return (x, y) in the picture of (row, column) image points, pixel centres kept, shape (N, 2)."""
        points = np.atleast_2d(np.asarray(points_px, dtype=np.float64)) - self.origin_px
        return np.asarray(((points + 0.5) * self.zoom - 0.5 + self.border)[:, ::-1])

    def line(self, points_px: Any, colour: Colour, width: int = 2) -> None:
        """Draw a line through image points with a dark halo."""
        self.strokes([self.at(points_px)], colour, width)

    def dashes(
        self, points_px: Any, colour: Colour, width: int = 3, *, dash: tuple[float, float] = (11.0, 10.0)
    ) -> None:
        """Draw a dashed line through image points, without halo, so that it shows on top of another line."""
        self.strokes(_dashes(self.at(points_px), *dash), colour, width, halo=0)

    def strokes(self, parts: Sequence[Any], colour: Colour, width: int = 2, *, halo: int = 4) -> None:
        """Draw lines given in picture coordinates, each (N, 2) of (x, y): first every halo, then every line."""
        for drawn, extra in ((DARK, halo), (colour, 0)) if halo else ((colour, 0),):
            for part in parts:
                fixed = np.rint(np.asarray(part) * _ONE).astype(np.int32).reshape(-1, 1, 2)
                cv2.polylines(self.pixels, [fixed], False, drawn, width + extra, cv2.LINE_AA, _SHIFT)

    def cross(self, point_px: Any, colour: Colour, size: int = 15, gap: int = APEX_GAP) -> None:
        """Draw an upright cross, open in its middle: the radiographic apex, which stays visible."""
        x, y = self.at(point_px)[0]
        self.strokes(
            [
                [(x - size, y), (x - gap, y)],
                [(x + gap, y), (x + size, y)],
                [(x, y - size), (x, y - gap)],
                [(x, y + gap), (x, y + size)],
            ],
            colour,
        )

    def diamond(self, point_px: Any, colour: Colour, size: int = 10) -> None:
        """Draw a diamond: the reference point."""
        x, y = self.at(point_px)[0]
        self.strokes([[(x, y - size), (x + size, y), (x, y + size), (x - size, y), (x, y - size)]], colour)

    def square(self, point_px: Any, colour: Colour, size: int = 6) -> None:
        """Draw a square: an end of the reference."""
        x, y = self.at(point_px)[0]
        ring = [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)]
        self.strokes([[*ring, ring[0]]], colour)

    def arrow(self, from_px: Any, to_px: Any, colour: Colour, size: int = 13) -> None:
        """Draw a filled arrow head with its point at `to_px`: the tip of the reference, and which way it looks."""
        start, tip = self.at([from_px, to_px])
        along = (tip - start) / max(float(np.hypot(*(tip - start))), 1e-9) * size
        across = np.array([-along[1], along[0]]) * 0.5
        head = np.array([tip, tip - along + across, tip - along - across])
        self.strokes([[*head, head[0]]], colour)
        fixed = np.rint(head * _ONE).astype(np.int32).reshape(-1, 1, 2)
        cv2.fillPoly(self.pixels, [fixed], colour, cv2.LINE_AA, _SHIFT)

    def tick(self, point_px: Any, ahead_px: Any, colour: Colour, size: int = 11) -> None:
        """Draw a short line through a point, across the way to the point ahead: where the working length ends."""
        here, ahead = self.at([point_px, ahead_px])
        along = (ahead - here) / max(float(np.hypot(*(ahead - here))), 1e-9)
        across = np.array([-along[1], along[0]]) * size
        self.strokes([[here - across, here + across]], colour, 3)

    def dot(self, point_px: Any, colour: Colour, size: int = 3) -> None:
        """Draw a dot: a click."""
        centre = np.rint(self.at(point_px)[0] * _ONE).astype(int).tolist()
        for drawn, extra in ((DARK, 2), (colour, 0)):
            cv2.circle(self.pixels, centre, (size + extra) * _ONE, drawn, -1, cv2.LINE_AA, _SHIFT)


def _dashes(xy: FloatArray, dash: float, gap: float) -> list[FloatArray]:
    steps = np.hypot(*np.diff(xy, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    parts = []
    for start in np.arange(0.0, along[-1], dash + gap):
        s = np.linspace(start, min(start + dash, along[-1]), 4)
        parts.append(np.column_stack([np.interp(s, along, xy[:, 0]), np.interp(s, along, xy[:, 1])]))
    return parts
