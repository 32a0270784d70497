"""The marks of a tooth as vectors over its image: each kind of mark has its own shape, colour only repeats it."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.geometry import fit_curve, straight_length
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.report.catalogue import Words
from radlength.report.colours import DARK, ORANGE, WHITE, Colour, Dash, canal_colour, canal_dash, canal_sign
from radlength.report.drawing import Drawing
from radlength.report.inset import SHARE
from radlength.report.marks import working_end
from radlength.report.picture import aspect_of
from radlength.scale import Reference

FloatArray = NDArray[np.float64]


MOST_LETTERS = 20
"""Letters of a canal's name that stand beside each other on the surroundings of an apex."""
MARGIN = 6.0
"""Small lengths around the image, so that a mark at its edge is seen whole."""


def image_drawing(radiograph: Radiograph, estimates: Sequence[Estimate], alt: str) -> Drawing:
    """Return the whole image with the marks of every canal and their names."""
    rows, columns = radiograph.shape
    aspect = np.array(aspect_of(radiograph))
    whole = (0.0, 0.0, float(columns * aspect[1]), float(rows * aspect[0]))
    unit = max(whole) / 260
    pad = MARGIN * unit
    box = (-pad, -pad, whole[2] + 2 * pad, whole[3] + 2 * pad)
    drawing = Drawing(box, alt, _png(_grey(radiograph)), whole)
    draw_tooth(drawing, estimates, aspect, unit)
    _names(drawing, estimates, aspect, unit)
    return drawing


def apex_drawing(radiograph: Radiograph, estimates: Sequence[Estimate], number: int, words: Words) -> Drawing:
    """Return the surroundings of one apex, enlarged, with all marks."""
    aspect = np.array(aspect_of(radiograph))
    path = np.asarray(estimates[number].canal.path_px)
    half = max(SHARE * straight_length(path * aspect) * 0.5, 8.0) / aspect
    low = np.floor(np.clip(path[-1] - half, 0, radiograph.shape)).astype(int)
    high = np.ceil(np.clip(path[-1] + half + 1, 1, radiograph.shape)).astype(int)
    crop = _grey(radiograph)[low[0] : high[0], low[1] : high[1]]
    size = (high - low) * aspect
    name = clean(estimates[number].canal.label, 40)
    box = (float(low[1] * aspect[1]), float(low[0] * aspect[0]), float(size[1]), float(size[0]))
    drawing = Drawing(box, words("apex_alt", label=name), _png(crop))
    unit = max(box[2:]) / 110
    draw_tooth(drawing, estimates, aspect, unit)
    corner = (box[0] + 3 * unit, box[1] + 9 * unit)
    sign = canal_sign(number)
    told = clean(name, MOST_LETTERS - len(sign)) + sign
    drawing.label(corner, told, 8 * unit, canal_colour(number), plate=DARK, bold=True)
    return drawing


def draw_tooth(drawing: Drawing, estimates: Sequence[Estimate], aspect: FloatArray, unit: float) -> None:
    """Draw curves, references and marks; `unit` is a small length in the drawing."""
    for number, estimate in enumerate(estimates):
        curve = at(fit_curve(np.asarray(estimate.canal.path_px)).resample(80), aspect)
        away = np.hypot(*(curve - curve[-1]).T)
        shown = curve[away >= 2 * unit] if away.max() >= 4 * unit else curve
        dash = canal_dash(number)
        parts = dash and (dash[0] * unit, dash[1] * unit)
        _haloed(drawing, shown, canal_colour(number), 0.9 * unit, parts)
    for reference in dict.fromkeys(e.reference for e in estimates if e.reference is not None):
        _draw_reference(drawing, reference, aspect, unit)
    for number, estimate in enumerate(estimates):
        _draw_marks(drawing, estimate, aspect, unit, canal_colour(number))


def at(points_px: object, aspect: FloatArray) -> FloatArray:
    """Return (x, y) in a drawing of (row, column) image points, shape (N, 2): pixel centres at halves."""
    points = np.atleast_2d(np.asarray(points_px, dtype=np.float64))
    return np.asarray(((points + 0.5) * aspect)[:, ::-1])


def _draw_reference(drawing: Drawing, reference: Reference, aspect: FloatArray, unit: float) -> None:
    points = at(fit_curve(np.asarray(reference.path_px)).resample(60), aspect)
    drawing.line(points, ORANGE, 1.1 * unit, (3 * unit, 2.6 * unit))
    square(drawing, points[0], ORANGE, unit)
    if reference.placement == "in_canal":
        arrow(drawing, points[-4], points[-1], ORANGE, unit)
    else:
        square(drawing, points[-1], ORANGE, unit)


def _draw_marks(
    drawing: Drawing, estimate: Estimate, aspect: FloatArray, unit: float, colour: Colour
) -> None:
    path = at(estimate.canal.path_px, aspect)
    for click in path[1:-1]:
        dot(drawing, click, colour, unit)
    diamond(drawing, path[0], colour, unit)
    end = working_end(estimate)
    if end is not None:
        tick(drawing, at(end[0], aspect)[0], at(end[1], aspect)[0], WHITE, unit)
    cross(drawing, path[-1], colour, unit)


def diamond(drawing: Drawing, place: FloatArray, colour: Colour, unit: float) -> None:
    """Draw a reference point."""
    ring = np.array([(0, -1), (1, 0), (0, 1), (-1, 0), (0, -1)]) * 3 * unit
    _haloed(drawing, ring + place, colour, 0.8 * unit)


def cross(drawing: Drawing, place: FloatArray, colour: Colour, unit: float) -> None:
    """Draw an apex: an upright cross, open in its middle."""
    for way in np.array([(0, -1), (1, 0), (0, 1), (-1, 0)]):
        _haloed(drawing, [place + 2 * unit * way, place + 4.6 * unit * way], colour, 0.9 * unit)


def square(drawing: Drawing, place: FloatArray, colour: Colour, unit: float) -> None:
    """Draw an end of a reference."""
    ring = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]) * 1.8 * unit
    _haloed(drawing, ring + place, colour, 0.8 * unit)


def arrow(drawing: Drawing, start: FloatArray, tip: FloatArray, colour: Colour, unit: float) -> None:
    """Draw the tip of a reference."""
    along = (tip - start) / max(float(np.hypot(*(tip - start))), 1e-9) * 4.4 * unit
    across = np.array([-along[1], along[0]]) * 0.45
    drawing.area([tip, tip - along + across, tip - along - across], colour)


def tick(drawing: Drawing, place: FloatArray, ahead: FloatArray, colour: Colour, unit: float) -> None:
    """Draw where the working length ends: a bar across the canal."""
    along = (ahead - place) / max(float(np.hypot(*(ahead - place))), 1e-9)
    across = np.array([-along[1], along[0]]) * 3.6 * unit
    _haloed(drawing, [place - across, place + across], colour, 1.2 * unit)


def dot(drawing: Drawing, place: FloatArray, colour: Colour, unit: float) -> None:
    """Draw a click."""
    angles = np.linspace(0, 2 * np.pi, 9)[:-1]
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    drawing.area(place + 1.5 * unit * ring, DARK)
    drawing.area(place + 1.0 * unit * ring, colour)


def legend(words: Words, *, ends: bool) -> list[tuple[str, Drawing]]:
    """Return every kind of mark as a small drawing with its name, `ends`: with the end of a working length."""
    middle = np.array([7.0, 5.0])
    right = np.array([11.0, 5.0])
    drawn = []
    for key in ("mark_reference_point", "mark_click", "mark_apex", "mark_end", "mark_reference"):
        if key == "mark_end" and not ends:
            continue
        drawing = Drawing((0, 0, 14, 10), words(key))
        drawing.area([(0, 0), (14, 0), (14, 10), (0, 10)], DARK)
        if key == "mark_reference_point":
            diamond(drawing, middle, canal_colour(0), 0.9)
        elif key == "mark_click":
            dot(drawing, middle, canal_colour(0), 1.3)
        elif key == "mark_apex":
            cross(drawing, middle, canal_colour(0), 0.9)
        elif key == "mark_end":
            tick(drawing, middle, right, WHITE, 0.9)
        else:
            drawing.line([(2, 5), right], ORANGE, 1, (2, 1.6))
            square(drawing, np.array([2.6, 5.0]), ORANGE, 0.9)
            arrow(drawing, middle, right + 1, ORANGE, 0.9)
        drawn.append((words(key), drawing))
    return drawn


def _haloed(drawing: Drawing, points: object, colour: Colour, width: float, dash: Dash | None = None) -> None:
    places = np.asarray(points)
    drawing.line(places, DARK, 2.4 * width)
    drawing.line(places, colour, width, dash)


def _names(drawing: Drawing, estimates: Sequence[Estimate], aspect: FloatArray, unit: float) -> None:
    size, taken = 8 * unit, list[float]()
    for number, estimate in enumerate(estimates):
        x, y = at(estimate.canal.path_px[0], aspect)[0]
        name = clean(estimate.canal.label, 24) + canal_sign(number)
        left = x > drawing.box[2] / 2
        room = (x - drawing.box[0] if left else drawing.box[0] + drawing.box[2] - x) - 6 * unit
        size = min(8 * unit, room / (0.75 * len(name)))
        x += -5 * unit if left else 5 * unit
        y = max(y + 0.3 * size, 1.2 * size)
        while any(abs(y - other) < 1.2 * size for other in taken):
            y += 1.2 * size
        taken.append(y)
        drawing.label(
            (x, y), name, size, canal_colour(number), anchor="end" if left else "start", plate=DARK, bold=True
        )


def _grey(radiograph: Radiograph) -> NDArray[np.uint8]:
    return np.rint(radiograph.display() * 255).astype(np.uint8)


def _png(grey: NDArray[np.uint8]) -> bytes:
    return bytes(cv2.imencode(".png", grey)[1].tobytes())
