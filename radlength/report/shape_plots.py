"""Plots of diameters, projected thickness and curvature over the distance from the end, as pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.geometry.path import cumulative_length
from radlength.report.canvas import Canvas
from radlength.report.colours import DARK, ORANGE, PALE, WHITE, Colour, canal_colour
from radlength.report.lettering import BOLD, text_width, wrapped, write_boxed, write_text
from radlength.shape.curvature import Curvature
from radlength.shape.preparation import PROJECTED
from radlength.shape.preview import Preview
from radlength.trade import CAUTION, NOT_CONFIRMED

FloatArray = NDArray[np.float64]
WIDE, TALL = 860, 330
LEFT, RIGHT, TOP, BOTTOM = 76, 24, 44, 54
GRID: Colour = (70, 72, 80)
SIZE = 16


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a plot: its name, places and whether it is dashed."""

    name: str
    x: FloatArray
    y: FloatArray
    colour: Colour
    dashed: bool = False


def preview_plot(made: Preview, *, status: str = NOT_CONFIRMED) -> NDArray[np.uint8]:
    """Return diameters of every option, and below projected thickness where edges are marked; under them the status."""
    diameters = [
        Line(option.text, option.laid.at_mm, option.laid.diameter_mm, canal_colour(number))
        for number, option in enumerate(made.options)
    ]
    parts = [_plot(f"{made.canal_label}: diameter / mm, nominal and round", "mm from the end", diameters)]
    walls = [
        Line(
            f"{option.text}, {wall.name}",
            option.laid.at_mm,
            wall.thickness_mm,
            canal_colour(number),
            side > 0,
        )
        for number, option in enumerate(made.options)
        for side, wall in enumerate(option.laid.walls)
    ]
    if walls:
        limit = made.options[0].laid.threshold_mm
        parts.append(_plot("projected thickness that remains / mm", "mm from the end", walls, flag=limit))
        parts.append(_words(PROJECTED, PALE))
    return np.ascontiguousarray(np.vstack([*parts, _words(status, ORANGE), _words(CAUTION, ORANGE)]))


def curvature_plot(found: Curvature, *, status: str = NOT_CONFIRMED) -> NDArray[np.uint8]:
    """Return the curvature along a canal with its 95 % interval, under it the status."""
    at = found.profile
    lines = [
        Line("curvature", at.at_mm, at.per_mm, canal_colour(0)),
        Line("95 % interval", at.at_mm, at.low, PALE, dashed=True),
        Line("", at.at_mm, at.high, PALE, dashed=True),
    ]
    title = f"{clean(found.label, 40)}: curvature / (1/mm) in the plane of the image, {found.form}"
    return np.ascontiguousarray(
        np.vstack(
            [_plot(title, "mm from the apical end", lines), _words(status, ORANGE), _words(CAUTION, ORANGE)]
        )
    )


def _plot(title: str, below: str, lines: Sequence[Line], *, flag: float | None = None) -> NDArray[np.uint8]:
    rows = (len([line for line in lines if line.name]) + 1) // 2
    pixels = np.full((TALL + 24 * rows, WIDE, 3), DARK, np.uint8)
    canvas = Canvas(pixels)
    x_end = float(max(line.x[-1] for line in lines))
    every = np.concatenate([line.y for line in lines] + ([np.array([flag])] if flag else []))
    low, high = min(float(np.nanmin(every)), 0.0), max(float(np.nanmax(every)), 0.1)
    frame = _Frame(x_end, low - 0.02 * (high - low), high + 0.06 * (high - low))
    write_text(pixels, title, (LEFT, 26), WHITE, 18, BOLD)
    _grid(canvas, frame, below)
    if flag:
        canvas.strokes(_broken(frame.at(np.array([0.0, x_end]), np.array([flag, flag]))), ORANGE, 2, halo=0)
    for line in lines:
        seen = ~np.isnan(line.y)
        xy = frame.at(line.x[seen], line.y[seen])
        canvas.strokes(_broken(xy) if line.dashed else [xy], line.colour, 2, halo=0)
    named = [line for line in lines if line.name]
    if flag:
        x, y = frame.at(np.array([0.0]), np.array([flag]))[0]
        write_boxed(pixels, f"your threshold {flag:g} mm", (round(x) + 4, round(y) - 30), ORANGE, SIZE)
    for number, line in enumerate(named):
        if len(named) > 1:
            _number(pixels, frame, line, number, len(named))
        x, y = LEFT + (number % 2) * 390, TALL + 24 * (number // 2) + 8
        key = np.array([(x, y), (x + 34, y)], dtype=float)
        canvas.strokes(_broken(key) if line.dashed else [key], line.colour, 3, halo=0)
        told = clean(line.name, 36)
        write_text(pixels, f"{number + 1}: {told}" if len(named) > 1 else told, (x + 44, y + 6), WHITE, SIZE)
    return pixels


def _number(pixels: NDArray[np.uint8], frame: _Frame, line: Line, number: int, many: int) -> None:
    """Write on a line which one it is, each at a place of its own: printed grey, colours look the same."""
    seen = np.flatnonzero(~np.isnan(line.y))
    if not len(seen):
        return
    at = seen[min(len(seen) - 1, round((0.5 + 0.5 * number / many) * (len(seen) - 1)))]
    x, y = frame.at(line.x[[at]], line.y[[at]])[0]
    write_boxed(pixels, str(number + 1), (round(x) - 10, round(y) - 14), line.colour, SIZE)


@dataclass(frozen=True, slots=True)
class _Frame:
    x_end: float
    low: float
    high: float

    def at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        across = LEFT + x / self.x_end * (WIDE - LEFT - RIGHT)
        down = TALL - BOTTOM - (y - self.low) / (self.high - self.low) * (TALL - TOP - BOTTOM)
        return np.column_stack([across, down])


def _grid(canvas: Canvas, frame: _Frame, below: str) -> None:
    step = _round_step((frame.high - frame.low) / 5)
    for value in np.arange(np.ceil(frame.low / step) * step, frame.high, step):
        line = frame.at(np.array([0.0, frame.x_end]), np.array([value, value]))
        canvas.strokes([line], GRID, 1, halo=0)
        text = f"{value:z.2f}"
        write_text(
            canvas.pixels, text, (LEFT - 10 - text_width(text, SIZE), round(line[0][1]) + 6), PALE, SIZE
        )
    for value in np.arange(0.0, frame.x_end + 1e-9, max(1.0, _round_step(frame.x_end / 12))):
        line = frame.at(np.array([value, value]), np.array([frame.low, frame.high]))
        canvas.strokes([line], GRID, 1, halo=0)
        text = f"{value:g}"
        x = round(line[0][0]) - text_width(text, SIZE) // 2
        write_text(canvas.pixels, text, (x, TALL - BOTTOM + 20), PALE, SIZE)
    write_text(canvas.pixels, below, (LEFT, TALL - 12), PALE, SIZE)


def _round_step(rough: float) -> float:
    power = 10.0 ** np.floor(np.log10(rough))
    return float(next(step * power for step in (1, 2, 5, 10) if step * power >= rough * 0.999))


def _broken(xy: FloatArray, ink: float = 8.0, gap: float = 6.0) -> list[FloatArray]:
    along = cumulative_length(xy)
    parts = []
    for start in np.arange(0.0, along[-1], ink + gap):
        s = np.linspace(start, min(start + ink, along[-1]), 4)
        parts.append(np.column_stack([np.interp(s, along, xy[:, 0]), np.interp(s, along, xy[:, 1])]))
    return parts


def _words(text: str, colour: Colour) -> NDArray[np.uint8]:
    lines = wrapped(text, WIDE - 40, SIZE)
    pixels = np.full((24 * len(lines) + 12, WIDE, 3), DARK, np.uint8)
    for number, line in enumerate(lines, 1):
        write_text(pixels, line, (20, 24 * number - 4), colour, SIZE)
    return pixels
