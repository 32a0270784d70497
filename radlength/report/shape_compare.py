"""A canal before and after, both walls on the first image, transportation at its levels: picture and plot words."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.imaging import Radiograph
from radlength.report.canvas import Canvas
from radlength.report.colours import BLUE, DARK, ORANGE, PALE, WHITE, YELLOW
from radlength.report.lettering import BOLD, text_width, wrapped, write_boxed, write_text
from radlength.report.picture import aspect_of
from radlength.shape.compare import Comparison
from radlength.trade import CAUTION, NOT_CONFIRMED

FloatArray = NDArray[np.float64]
ROWS, MOST_WIDTH, LEAST_WIDTH = 700, 560, 200
GAP, HEAD, SIZE = 16, 44, 16
MARGIN_MM = 1.5
BESIDE = 150
"""Room for the figures beside the second panel."""


def compare_picture(
    before: Radiograph, after: Radiograph, found: Comparison, *, status: str = NOT_CONFIRMED
) -> NDArray[np.uint8]:
    """Return both images, the second laid on the first, with the walls before (blue) and after (yellow, dashed).

    Parameters
    ----------
    before, after
        The two images.
    found
        What is drawn.
    status
        What the records say of confirmation.

    Returns
    -------
    ndarray
        RGB, shape (rows, columns, 3), uint8. At each level a bar across the canal; on the second panel an arrow to the
        side the canal was carried to, its figure beside it.
    """
    greys = [np.rint(image.display() * 255).astype(np.uint8) for image in (before, after)]
    size = before.shape[::-1]
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    greys[1] = np.asarray(
        cv2.warpPerspective(greys[1], found.registration.matrix, size, flags=flags), dtype=np.uint8
    )
    low, high = _window(found, before.shape)
    aspect = aspect_of(before)
    zoom = min(ROWS / ((high - low) * aspect)[0], MOST_WIDTH / ((high - low) * aspect)[1])
    panels = []
    for number, (title, grey) in enumerate(zip(("before", "after, laid on before"), greys, strict=True)):
        crop = np.ascontiguousarray(grey[low[0] : high[0], low[1] : high[1]])
        canvas = Canvas.over(
            crop, (zoom * aspect[0], zoom * aspect[1]), origin_px=(float(low[0]), float(low[1]))
        )
        _walls(canvas, found, after=number == 1)
        _levels(canvas, found, arrows=number == 1)
        panels.append(_titled(canvas, title, found if number == 1 else None))
    gap = np.full((panels[0].shape[0], GAP, 3), DARK, np.uint8)
    row = np.hstack([gap, panels[0], gap, panels[1], gap])
    return np.ascontiguousarray(np.vstack([row, _foot(found, status, row.shape[1])]))


def _window(found: Comparison, shape: tuple[int, int]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    points = np.vstack([side for walls in found.walls for side in (walls.left_px, walls.right_px)])
    room = MARGIN_MM / np.asarray(found.mm_per_px)
    low = np.clip(np.floor(points.min(axis=0) - room), 0, np.array(shape) - 8).astype(int)
    high = np.clip(np.ceil(points.max(axis=0) + room) + 1, low + 8, shape).astype(int)
    return low, high


def _walls(canvas: Canvas, found: Comparison, *, after: bool) -> None:
    for side in (found.walls[0].left_px, found.walls[0].right_px):
        canvas.strokes([canvas.at(side)], BLUE, 1, halo=2)
    if after:
        for side in (found.walls[1].left_px, found.walls[1].right_px):
            canvas.strokes([canvas.at(side)], DARK, 4, halo=0)
            canvas.dashes(side, YELLOW, 2)


def _levels(canvas: Canvas, found: Comparison, *, arrows: bool) -> None:
    """Draw a bar at each level, its number on the left; with arrows, what was carried, its figure on the right."""
    canal = found.path_px[0]
    for level, place in zip(found.levels, found.levels_px, strict=True):
        here = canvas.at(place)[0]
        nearest = int(np.argmin(np.hypot(*(canal - place).T)))
        first, last = max(nearest - 1, 0), min(nearest + 1, len(canal) - 1)
        ahead = canvas.at(canal[last])[0] - canvas.at(canal[first])[0]
        ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
        left = np.array([ahead[1], -ahead[0]])
        canvas.strokes([[here - 26 * left, here + 26 * left]], WHITE, 1, halo=0)
        text = f"{level.at_mm:g}"
        x = round(float(here[0])) - 48 - text_width(text, SIZE)
        write_boxed(canvas.pixels, text, (max(x, 0), round(float(here[1])) - 13), WHITE, SIZE)
        if arrows and abs(level.transportation_mm) > 1.96 * level.u_mm:
            _arrow(canvas, here, left if level.transportation_mm > 0 else -left)


def _arrow(canvas: Canvas, here: FloatArray, way: FloatArray) -> None:
    across = np.array([-way[1], way[0]])
    start, tip = here + 24 * way, here + 46 * way
    head = [tip - 8 * way + 6 * across, tip, tip - 8 * way - 6 * across]
    canvas.strokes([[start, tip], head], ORANGE, 2, halo=2)


def _titled(canvas: Canvas, title: str, found: Comparison | None) -> NDArray[np.uint8]:
    """Return a panel with its title, and beside it the figures of the levels."""
    pixels = canvas.pixels
    wide = pixels.shape[1] + (BESIDE if found else 0)
    panel = np.full((pixels.shape[0] + HEAD, max(wide, LEAST_WIDTH), 3), DARK, np.uint8)
    panel[HEAD:, : pixels.shape[1]] = pixels
    write_text(panel, title, (4, 28), WHITE, 20, BOLD)
    free = 0.0
    places = sorted(zip(found.levels_px, found.levels, strict=True), key=lambda p: p[0][0]) if found else []
    for place, level in places:
        row = max(float(canvas.at(place)[0][1]) + HEAD + 6, free + 1.3 * SIZE)
        free = row
        text = f"{level.at_mm:g}: {abs(level.transportation_mm):.2f} ±{1.96 * level.u_mm:.2f}"
        write_text(panel, text, (pixels.shape[1] + 10, round(row)), ORANGE, SIZE)
    return panel


def _foot(found: Comparison, status: str, width: int) -> NDArray[np.uint8]:
    told = (
        f"{clean(found.label, 40)}: blue before, yellow dashed after; numbers on the left: mm from the apical end,"
        " on the right: projected transportation in mm, 95 %; arrows show its side, not to scale. Left over by the"
        f" registration, beyond noise: {found.registration.worst_px:.2f} px."
    )
    lines = [(line, ORANGE) for line in wrapped(clean(status, 200), width - 2 * GAP, SIZE)]
    lines += [(line, PALE) for line in wrapped(told, width - 2 * GAP, SIZE)]
    lines += [(line, ORANGE) for line in wrapped(CAUTION, width - 2 * GAP, SIZE)]
    foot = np.full((round(len(lines) * 1.45 * SIZE) + 24, width, 3), DARK, np.uint8)
    for number, (line, colour) in enumerate(lines, 1):
        write_text(foot, line, (GAP, round(number * 1.45 * SIZE) + 6), colour, SIZE)
    return foot
