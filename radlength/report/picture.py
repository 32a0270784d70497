"""The annotated picture: the image, the marks, the lengths, the caution."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ReportError
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.report.canvas import Canvas
from radlength.report.colours import DARK
from radlength.report.inset import draw_inset
from radlength.report.marks import draw_canals, draw_scale_bar, name_marks
from radlength.report.panel import MARGIN, PANEL_WIDTH, draw_panel
from radlength.report.written import write_report

IMAGE_BOX = 960
"""The image is enlarged, or shrunk, until its longer side has these pixels."""

LARGEST_ZOOM = 6.0
BORDER = 22
BAR_STRIP = 56
INSET_HEIGHT = 340
TILE_HEIGHT, TILE_WIDTH = 260, 320


def annotated_picture(
    radiograph: Radiograph,
    estimates: Sequence[Estimate],
    *,
    status: str = "estimate, not confirmed",
    unmeasured: Sequence[tuple[str, str]] = (),
) -> NDArray[np.uint8]:
    """Return the image with the marks drawn on it and a panel of lengths beside it.

    Parameters
    ----------
    radiograph
        The image, with the pitch the record states where it states one.
    estimates
        Measured canals on it.
    status
        What the record says of confirmation.
    unmeasured
        Name of each canal that cannot be measured, and why; it is named beside the image and not drawn.

    Returns
    -------
    ndarray
        RGB, shape (rows, columns, 3), uint8. Reference points are diamonds, apices crosses, clicks dots; a
        reference is dashed from a square to an arrow head. Colours repeat what shapes say; where they come again, from
        the fifth canal on, the line is dashed, and the name says so. Pixels that are not
        square are drawn in proportion.
    """
    grey = np.rint(radiograph.display() * 255).astype(np.uint8)
    aspect = aspect_of(radiograph)
    image = _image(grey, aspect, estimates)
    panel = draw_panel(radiograph.name, status, estimates, unmeasured)
    if len(estimates) == 1:
        inset = draw_inset(grey, aspect, estimates, 0, (INSET_HEIGHT, PANEL_WIDTH - 2 * MARGIN))
        panel = np.vstack([panel, _framed(inset, PANEL_WIDTH, MARGIN)])
    elif estimates:
        image = np.vstack([image, _tiles(grey, aspect, estimates, image.shape[1])])
    return np.ascontiguousarray(beside(image, panel))


def write_png(path: str | os.PathLike[str], picture: NDArray[np.uint8]) -> Path:
    """Write an RGB picture as PNG.

    Raises
    ------
    ReportError
        The file cannot be written.
    """
    done, data = cv2.imencode(".png", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR))
    if not done:
        raise ReportError(
            "the picture cannot be written: no PNG could be made of it",
            remedy="check the folder and its rights",
            code="picture-unwritable",
            subject=str(path),
        )
    return write_report(Path(path), data.tobytes(), "the picture", code="picture-unwritable")


def aspect_of(radiograph: Radiograph) -> tuple[float, float]:
    """Return the relative size of a pixel, (down, across), the smaller one 1."""
    row, column = radiograph.scale.row_mm, radiograph.scale.column_mm
    if not row or not column:
        return 1.0, 1.0
    return row / min(row, column), column / min(row, column)


def _image(
    grey: NDArray[np.uint8], aspect: tuple[float, float], estimates: Sequence[Estimate]
) -> NDArray[np.uint8]:
    longest = max(n * a for n, a in zip(grey.shape, aspect, strict=True))
    zoom = min(IMAGE_BOX / longest, LARGEST_ZOOM)
    canvas = Canvas.over(grey, (zoom * aspect[0], zoom * aspect[1]), border=BORDER)
    draw_canals(canvas, estimates)
    name_marks(canvas, estimates)
    if not estimates:
        return canvas.pixels
    strip = np.full((BAR_STRIP, canvas.pixels.shape[1], 3), DARK, np.uint8)
    draw_scale_bar(strip, canvas, estimates[0], left=BORDER)
    return np.vstack([canvas.pixels, strip])


def _tiles(
    grey: NDArray[np.uint8], aspect: tuple[float, float], estimates: Sequence[Estimate], width: int
) -> NDArray[np.uint8]:
    """Return the apices of several canals side by side, in rows as wide as the image."""
    across = max(width // TILE_WIDTH, 1)
    tile = (width - BORDER * (across + 1)) // across
    rows = []
    for start in range(0, len(estimates), across):
        row = np.full((TILE_HEIGHT + BORDER, width, 3), DARK, np.uint8)
        for place, number in enumerate(range(start, min(start + across, len(estimates)))):
            left = BORDER + place * (tile + BORDER)
            row[:TILE_HEIGHT, left : left + tile] = draw_inset(
                grey, aspect, estimates, number, (TILE_HEIGHT, tile)
            )
        rows.append(row)
    return np.vstack(rows)


def _framed(pixels: NDArray[np.uint8], width: int, margin: int) -> NDArray[np.uint8]:
    strip = np.full((pixels.shape[0] + margin, width, 3), DARK, np.uint8)
    strip[: pixels.shape[0], margin : margin + pixels.shape[1]] = pixels
    return strip


def beside(image: NDArray[np.uint8], panel: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return two RGB pictures side by side, the lower one dark below."""
    height = max(image.shape[0], panel.shape[0])
    return np.hstack([_padded(image, height), _padded(panel, height)])


def _padded(pixels: NDArray[np.uint8], height: int) -> NDArray[np.uint8]:
    below = height - pixels.shape[0]
    return np.vstack([pixels, np.full((below, pixels.shape[1], 3), DARK, np.uint8)])
