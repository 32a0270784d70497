"""Images as many viewers export them: eight bits, white brought down until part of the image has no detail."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import map_coordinates

from radlength.imaging import Radiograph

BLACK = 0.02
"""Share of an image that is black."""
NEAR_TIP_MM = (0.3, 1.0)
"""The part of an instrument before its tip whose grey tells where white is brought down to."""


def whitened(radiograph, share):
    """Return a radiograph of eight bits whose brightest part, this share of it, is white."""
    grey = _bright(radiograph)
    return _between(radiograph, grey, np.quantile(grey, 1 - share))


def with_white_metal(radiograph, path_px, level):
    """Return the same with white at `level` of the way from black to an instrument's grey near its tip.

    `path_px` runs to the tip, (row, column), shape (N, 2); 0.94 just saturates the metal and little else.
    """
    grey, pixel_mm = _bright(radiograph), radiograph.scale.row_mm
    steps = np.hypot(*np.diff(path_px, axis=0).T) * pixel_mm
    along = np.concatenate([[0], np.cumsum(steps)])
    places = along[-1] - np.linspace(*NEAR_TIP_MM, 20)
    points = [np.interp(places, along, path_px[:, axis]) for axis in (0, 1)]
    metal, black = np.median(map_coordinates(grey, points, order=1)), np.quantile(grey, BLACK)
    return _between(radiograph, grey, black + level * (metal - black))


def _bright(radiograph):
    grey = radiograph.stored.astype(float)
    return grey.max() - grey if radiograph.facts.photometric == "MONOCHROME1" else grey


def _between(radiograph, grey, white):
    black = np.quantile(grey, BLACK)
    pixels = np.clip(np.rint(255 * (grey - black) / (white - black)), 0, 255).astype(np.uint8)
    scale = radiograph.scale
    return Radiograph.from_array(pixels, row_mm=scale.row_mm, column_mm=scale.column_mm)
