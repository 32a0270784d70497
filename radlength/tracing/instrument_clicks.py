"""Whether two clicks can be those on an instrument, and one click one on an object."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.geometry import points_outside
from radlength.imaging import Radiograph

FloatArray = NDArray[np.float64]

SHORTEST_MM, LONGEST_MM = 3.0, 40.0
"""From stop to tip: instruments are 21 to 31 mm long; a shorter stretch tells no axis."""


def check_clicks(
    radiograph: Radiograph, start_px: ArrayLike, tip_px: ArrayLike, side_mm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the click at the stop and that at the tip in millimetres, or say why they cannot be used.

    Parameters
    ----------
    radiograph
        The image they are on.
    start_px, tip_px
        (row, column) pixels.
    side_mm
        (row, column) size of a pixel.

    Raises
    ------
    MarkError
        A click that is no point or not on the image, or clicks nearer than 3 mm or further than 40 mm apart.
    """
    start = check_click(radiograph, start_px) * side_mm
    tip = check_click(radiograph, tip_px) * side_mm
    apart = float(np.hypot(*(tip - start)))
    if not SHORTEST_MM <= apart <= LONGEST_MM:
        raise MarkError(
            f"stop and tip {apart:.1f} mm apart",
            f"{SHORTEST_MM:g} to {LONGEST_MM:g} mm, at {side_mm[0]:.3g} mm a pixel",
            "click the face of the stop, then the tip",
            code="instrument-length",
            subject=radiograph.name,
        )
    return start, tip


def check_click(radiograph: Radiograph, click_px: ArrayLike) -> FloatArray:
    """Return one click as (row, column) pixels, shape (2,).

    Raises
    ------
    MarkError
        No finite point, or one that is not on the image.
    """
    click = np.asarray(click_px, dtype=np.float64) if np.size(click_px) == 2 else np.full(2, np.nan)
    if click.shape != (2,) or not np.isfinite(click).all():
        raise MarkError(
            f"a click at {click_px!r}",
            "one finite (row, column) point",
            "click on the image",
            code="click-not-a-point",
            subject=radiograph.name,
        )
    if points_outside(click[None], radiograph.shape):
        rows, columns = radiograph.shape
        raise MarkError(
            f"a click at ({click[0]:g}, {click[1]:g})",
            f"a point on the image, {rows} rows and {columns} columns",
            "click on the image",
            code="click-outside",
            subject=radiograph.name,
        )
    return click
