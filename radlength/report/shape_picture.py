"""Prepared outlines drawn on the radiograph, options side by side on the same piece of the image."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.report.canvas import Canvas
from radlength.report.colours import DARK, ORANGE, PALE, RED, WHITE, Colour, canal_colour
from radlength.report.lettering import BOLD, shortened, text_width, wrapped, write_boxed, write_text
from radlength.report.picture import aspect_of
from radlength.scale import image_scale
from radlength.shape.preparation import PROJECTED, Preparation, Wall
from radlength.shape.preview import Option, Preview
from radlength.trade import CAUTION, NOT_CONFIRMED

FloatArray = NDArray[np.float64]
ROWS = 720
LEAST_WIDTH, MOST_WIDTH = 300, 620
MARGIN_MM = 1.6
GAP = 16
HEAD = 66
TEXT = 16


def preview_picture(
    radiograph: Radiograph, estimate: Estimate, made: Preview, *, status: str = NOT_CONFIRMED
) -> NDArray[np.uint8]:
    """Return every option of a preview beside the others.

    Parameters
    ----------
    radiograph, estimate
        The image, and the canal measured on it.
    made
        What is drawn.
    status
        What the record says of confirmation.

    Returns
    -------
    ndarray
        RGB, shape (rows, columns, 3), uint8. Solid lines are the outline, numbers the millimetres from the end of the
        working length, dashed lines the marked edges of the root, and an orange bar the thinnest place.
    """
    mm, _ = image_scale(estimate.reference, radiograph, canal_name=estimate.canal.label)
    grey = np.rint(radiograph.display() * 255).astype(np.uint8)
    low, high = _window(made, np.asarray(mm), grey.shape)
    aspect = aspect_of(radiograph)
    size = (high - low) * aspect
    zoom = min(ROWS / size[0], MOST_WIDTH / size[1])
    panels = [
        _panel(grey[low[0] : high[0], low[1] : high[1]], low, zoom, aspect, option, number)
        for number, option in enumerate(made.options)
    ]
    row = np.hstack([_gap(panels[0].shape[0], GAP), *(p for q in panels for p in (q, _gap(q.shape[0], GAP)))])
    return np.ascontiguousarray(np.vstack([row, _foot(made, status, row.shape[1])]))


def _window(
    made: Preview, mm: FloatArray, shape: tuple[int, ...]
) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    """Return the corner pixels of the piece of the image: all outlines, and the root beside them."""
    laid = [option.laid for option in made.options]
    points = np.vstack([side for one in laid for side in (one.left_px, one.right_px)])
    walls = [wall.thickness_mm for one in laid for wall in one.walls]
    beside = float(np.nanmax(np.concatenate([*walls, np.zeros(1)]))) if walls else 0.0
    room = (MARGIN_MM + min(beside, 3.0)) / mm
    low = np.clip(np.floor(points.min(axis=0) - room), 0, np.array(shape) - 8).astype(int)
    high = np.clip(np.ceil(points.max(axis=0) + room) + 1, low + 8, shape).astype(int)
    return low, high


def _panel(
    crop: NDArray[np.uint8],
    low: NDArray[np.int_],
    zoom: float,
    aspect: tuple[float, float],
    option: Option,
    number: int,
) -> NDArray[np.uint8]:
    origin = float(low[0]), float(low[1])
    canvas = Canvas.over(crop, (zoom * aspect[0], zoom * aspect[1]), origin_px=origin)
    laid = option.laid
    colour = canal_colour(number)
    for edge in laid.edges_px:
        canvas.dashes(edge, WHITE, 2)
    canvas.strokes([canvas.at(laid.left_px), canvas.at(laid.right_px), _end(canvas, laid)], colour, 2, halo=2)
    _levels(canvas, laid)
    for wall in laid.walls:
        _thin(canvas, laid, wall)
    wide = max(canvas.pixels.shape[1], LEAST_WIDTH)
    image = np.full((canvas.pixels.shape[0], wide, 3), DARK, np.uint8)
    image[:, : canvas.pixels.shape[1]] = canvas.pixels
    head = np.full((HEAD, wide, 3), DARK, np.uint8)
    write_text(head, shortened(clean(option.text, 60), wide - 8, 22, BOLD), (4, 28), colour, 22, BOLD)
    write_text(head, shortened(option.colours, wide - 8, TEXT), (4, 54), PALE, TEXT)
    return np.vstack([head, image])


def _end(canvas: Canvas, laid: Preparation) -> FloatArray:
    return canvas.at([laid.left_px[0], laid.right_px[0]])


def _levels(canvas: Canvas, laid: Preparation) -> None:
    """Draw a short bar across the outline at every level, and the number of every second one where there is room."""
    free = -np.inf
    for number, at in enumerate(laid.at_mm):
        left, right = canvas.at(laid.rims_px[number])
        canvas.strokes([[left, right]], WHITE, 1, halo=0)
        named = at > 0 and abs(at / 2 - round(at / 2)) < 1e-6
        if not named or abs(left[1] - free) < 1.7 * TEXT:
            continue
        free = left[1]
        outer = left if left[0] < right[0] else right
        text = f"{at:g}"
        x = round(outer[0]) - text_width(text, TEXT) - 20
        write_boxed(canvas.pixels, text, (max(x, 0), round(outer[1]) - 13), WHITE, TEXT)


def _thin(canvas: Canvas, laid: Preparation, wall: Wall) -> None:
    """Draw the thinnest place between the outline and an edge with its figure, and every level below the threshold."""
    thinnest = wall.thinnest
    if thinnest is None:
        return
    limit = max(laid.threshold_mm or 0.0, 1e-9)
    for number, thickness in enumerate(wall.thickness_mm):
        if thickness < limit:
            canvas.strokes([canvas.at(wall.feet_px[number])], RED, 1, halo=0)
    at, least = thinnest
    colour = RED if least < limit else ORANGE
    bar = canvas.at(wall.feet_px[at])
    canvas.strokes([bar], colour, 3, halo=2)
    text = f"{least:.2f} mm" + (" !" if colour is RED else "")
    width = text_width(text, TEXT, BOLD) + 14
    x = bar[1][0] + 10 if bar[1][0] > bar[0][0] else bar[1][0] - 10 - width
    x = min(max(x, 0), canvas.pixels.shape[1] - width)
    y = min(max(bar[1][1] - 34, 0), canvas.pixels.shape[0] - 30)
    write_boxed(canvas.pixels, text, (round(x), round(y)), colour, TEXT, BOLD)


def _foot(made: Preview, status: str, width: int) -> NDArray[np.uint8]:
    lines: list[tuple[str, Colour]] = [
        (line, ORANGE) for line in wrapped(clean(status, 200), width - 2 * GAP, TEXT)
    ]
    walls = [wall for option in made.options for wall in option.laid.walls]
    threshold = made.options[0].laid.threshold_mm
    told = f"{made.canal_label}: working length {made.working_length_mm:.1f} mm. Numbers: mm from its end."
    lines += [(line, WHITE) for line in wrapped(told, width - 2 * GAP, TEXT)]
    if walls:
        told = f"Dashed: marked edges of the root. Bars: thinnest place, {PROJECTED}."
        told += f" Red and !: below your threshold of {threshold:g} mm." if threshold else ""
        lines += [(line, PALE) for line in wrapped(told, width - 2 * GAP, TEXT)]
    lines += [(line, ORANGE) for line in wrapped(CAUTION, width - 2 * GAP, TEXT)]
    foot = np.full((round(len(lines) * 1.45 * TEXT) + 24, width, 3), DARK, np.uint8)
    for number, (line, colour) in enumerate(lines, 1):
        write_text(foot, line, (GAP, round(number * 1.45 * TEXT) + 6), colour, TEXT)
    return foot


def _gap(rows: int, width: int) -> NDArray[np.uint8]:
    return np.full((rows, width, 3), DARK, np.uint8)
