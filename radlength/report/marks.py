"""The marks of measured canals, drawn on a canvas and named where there is room."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.geometry import Curve, fit_curve
from radlength.length import Estimate
from radlength.report.canvas import APEX_GAP, Canvas
from radlength.report.colours import DARK, ORANGE, WHITE, Colour, canal_colour, canal_dash, canal_sign
from radlength.report.labels import Labels
from radlength.report.lettering import BOLD, text_width, write_text
from radlength.scale import Reference

FloatArray = NDArray[np.float64]
BARS_MM = (10.0, 5.0, 2.0, 1.0)


def draw_canals(canvas: Canvas, estimates: Sequence[Estimate]) -> None:
    """Draw every canal with its reference and marks: lines first, marks on top."""
    for number, estimate in enumerate(estimates):
        _draw_canal(canvas, _drawn(canvas, estimate), number)
    for reference in _references(estimates):
        _draw_reference(canvas, reference)
    for number, estimate in enumerate(estimates):
        _draw_marks(canvas, estimate, canal_colour(number))


def name_marks(canvas: Canvas, estimates: Sequence[Estimate]) -> None:
    """Write the name of every canal at its reference point and the length of every reference."""
    labels = _labels(canvas, estimates)
    for number, estimate in enumerate(estimates):
        name, sign = estimate.canal.label, canal_sign(number)
        labels.write(
            [f"{name}{sign}", f"{clean(name, 24)}{sign}"],
            estimate.canal.path_px[0],
            canal_colour(number),
            22,
            BOLD,
        )
    for reference in _references(estimates):
        known = f"{reference.length_mm:g} ±{reference.limit_mm:g} mm"
        station = 2 if reference.placement == "in_canal" else 4
        at_px = fit_curve(np.asarray(reference.path_px)).resample(9)[station]
        labels.write([f"{reference.name or 'reference'}: {known}", known], at_px, ORANGE, 18)


def name_ends(canvas: Canvas, estimate: Estimate) -> None:
    """Write beside the apex and the end of the working length what each of them is."""
    labels = _labels(canvas, [estimate])
    length = f"canal length {estimate.canal_length.value_mm:.1f} mm"
    labels.write([f"apex, {length}", length], estimate.canal.path_px[-1], WHITE, 18)
    working = working_end(estimate)
    if working is not None and estimate.working_length is not None:
        words = f"working length {estimate.working_length.value_mm:.1f} mm"
        labels.write([words], working[0], WHITE, 18, BOLD)


def working_end(estimate: Estimate) -> tuple[FloatArray, FloatArray] | None:
    """Return where the working length ends on the image and a point just ahead, (row, column), or None."""
    if estimate.working_length is None:
        return None
    curve = _curve(estimate)
    s = curve.length * estimate.working_length.value_mm / estimate.canal_length.value_mm
    return curve.point_at(s), curve.point_at(min(s + 1e-3 * curve.length, curve.length))


def draw_scale_bar(strip: NDArray[np.uint8], canvas: Canvas, estimate: Estimate, *, left: int) -> None:
    """Draw a bar of whole millimetres in the tooth into a strip as wide as the canvas.

    Parameters
    ----------
    strip
        Shape (rows, columns, 3), uint8; written into.
    canvas
        The image the bar belongs to, its pixels drawn in proportion.
    estimate
        The canal whose corrected scale is shown: the scale holds at its depth.
    left
        Column at which the bar starts.
    """
    drawn = fit_curve(canvas.at(estimate.canal.path_px)).length
    pixels_per_mm = drawn / estimate.canal_length.value_mm
    room = strip.shape[1] - 2 * left
    bar_mm = next((bar for bar in BARS_MM if bar * pixels_per_mm < 0.45 * room), BARS_MM[-1])
    end, y = left + bar_mm * pixels_per_mm, strip.shape[0] // 2 - 12
    start, stop = (round(16 * x) for x in (left, end))
    cv2.line(strip, (start, 16 * y), (stop, 16 * y), WHITE, 3, cv2.LINE_AA, 4)
    for x in (start, stop):
        cv2.line(strip, (x, 16 * (y - 6)), (x, 16 * (y + 6)), WHITE, 3, cv2.LINE_AA, 4)
    words = f"{bar_mm:g} mm in the tooth, corrected at {estimate.canal.label}"
    if text_width(words, 18) > room:
        words = f"{bar_mm:g} mm, corrected"
    write_text(strip, words, (left, y + 27), WHITE, 18)


def _drawn(canvas: Canvas, estimate: Estimate) -> FloatArray:
    """Return the curve up to just before the apex, so that the apex itself stays visible."""
    points = _curve(estimate).resample(400)
    away = np.hypot(*(canvas.at(points) - canvas.at(points[-1])).T)
    return points[:-1][away[:-1] >= APEX_GAP] if away.max() >= 2 * APEX_GAP else points


def _draw_canal(canvas: Canvas, points_px: FloatArray, number: int) -> None:
    dash = canal_dash(number)
    if dash is None:
        canvas.line(points_px, canal_colour(number), 2)
    else:
        canvas.line(points_px, DARK, 2)
        canvas.dashes(points_px, canal_colour(number), 2, dash=(3 * dash[0], 3 * dash[1]))


def _draw_reference(canvas: Canvas, reference: Reference) -> None:
    points = fit_curve(np.asarray(reference.path_px)).resample(100)
    canvas.dashes(points, ORANGE)
    canvas.square(points[0], ORANGE)
    if reference.placement == "in_canal":
        canvas.arrow(points[-6], points[-1], ORANGE)
    else:
        canvas.square(points[-1], ORANGE)


def _draw_marks(canvas: Canvas, estimate: Estimate, colour: Colour) -> None:
    path = estimate.canal.path_px
    for click in path[1:-1]:
        canvas.dot(click, colour)
    canvas.diamond(path[0], colour)
    end = working_end(estimate)
    if end is not None:
        canvas.tick(*end, WHITE)
    canvas.cross(path[-1], colour)


def _labels(canvas: Canvas, estimates: Sequence[Estimate]) -> Labels:
    references = _references(estimates)
    ends = [np.asarray(estimate.canal.path_px[-1]) for estimate in estimates]
    ends += [np.asarray(reference.path_px[n]) for reference in references for n in (0, -1)]
    ends += [end[0] for estimate in estimates if (end := working_end(estimate)) is not None]
    lines = [_curve(estimate).resample(300) for estimate in estimates]
    lines += [fit_curve(np.asarray(reference.path_px)).resample(100) for reference in references]
    return Labels(canvas, np.asarray(ends).reshape(-1, 2), np.vstack([*lines, np.empty((0, 2))]))


def _references(estimates: Sequence[Estimate]) -> list[Reference]:
    """Return every reference once, in order."""
    return list(dict.fromkeys(e.reference for e in estimates if e.reference is not None))


def _curve(estimate: Estimate) -> Curve:
    return fit_curve(np.asarray(estimate.canal.path_px))
