"""The annotated picture: the image, the marks, the lengths, the caution."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ReportError
from radlength.geometry import fit_curve, straight_length
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.report.canvas import (
    CANAL_COLOURS,
    DARK,
    GREY,
    ORANGE,
    WHITE,
    Canvas,
    Colour,
    text_width,
    wrapped,
    write_text,
)
from radlength.report.words import canal_lines
from radlength.trade import CAUTION

PANEL_WIDTH = 490
INSET = 440
LONG_SIDE = (900, 1400)
"""Images are enlarged so that their longer side has at least, and shrunk so that it has at most, these pixels."""

_MARGIN = 22


def annotated_picture(
    radiograph: Radiograph, estimates: Sequence[Estimate], *, status: str = "estimate, not confirmed"
) -> NDArray[np.uint8]:
    """Return the image with the marks drawn on it and a panel of lengths beside it.

    Parameters
    ----------
    radiograph
        The image.
    estimates
        Measured canals on it.
    status
        What the record says of confirmation.

    Returns
    -------
    ndarray
        RGB, shape (rows, columns, 3), uint8. Reference points are diamonds, apices crosses, reference ends
        squares, clicks dots; the reference is dashed. Colours repeat what shapes say.
    """
    grey = np.rint(radiograph.display() * 255).astype(np.uint8)
    longest = max(grey.shape)
    canvas = _enlarged(grey, float(np.clip(1.0, LONG_SIDE[0] / longest, LONG_SIDE[1] / longest)))
    for estimate, colour in _coloured(estimates):
        _draw(canvas, estimate, colour)
        _label(canvas, estimate, colour)
    _scale_bar(canvas, radiograph, estimates)
    panel = _panel(radiograph, estimates, status)
    inset = _inset(grey, estimates)
    height = max(panel.shape[0] + inset.shape[0], canvas.pixels.shape[0])
    panel = np.vstack([_padded(panel, height - inset.shape[0]), inset])
    return np.ascontiguousarray(np.hstack([_padded(canvas.pixels, height), _padded(panel, height)]))


def write_png(path: str | os.PathLike[str], picture: NDArray[np.uint8]) -> Path:
    """Write an RGB picture as PNG.

    Raises
    ------
    ReportError
        The file cannot be written.
    """
    path = Path(path)
    done, data = cv2.imencode(".png", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR))
    try:
        if not done:
            raise OSError
        path.write_bytes(data.tobytes())
    except OSError as exc:
        raise ReportError(
            "the picture cannot be written",
            remedy="check the folder and its rights",
            code="picture-unwritable",
            subject=str(path),
        ) from exc
    return path


def _enlarged(grey: NDArray[np.uint8], zoom: float, origin_px: tuple[float, float] = (0.0, 0.0)) -> Canvas:
    rows, columns = grey.shape
    how = cv2.INTER_CUBIC if zoom > 1 else cv2.INTER_AREA
    enlarged = cv2.resize(grey, (round(columns * zoom), round(rows * zoom)), interpolation=how)
    return Canvas(np.ascontiguousarray(np.repeat(enlarged[..., None], 3, axis=2)), zoom, origin_px)


def _inset(grey: NDArray[np.uint8], estimates: Sequence[Estimate]) -> NDArray[np.uint8]:
    """Return the surroundings of the first canal's apex, enlarged, as a strip as wide as the panel."""
    strip = np.full((INSET + _MARGIN if estimates else 0, PANEL_WIDTH, 3), DARK, np.uint8)
    if not estimates:
        return strip
    path = np.asarray(estimates[0].canal.path_px)
    half = max(0.14 * straight_length(path), 8.0)
    low = np.clip(np.floor(path[-1] - half), 0, None).astype(int)
    high = np.minimum(np.ceil(path[-1] + half + 1), grey.shape).astype(int)
    zoom = INSET / int(max(high - low))
    canvas = _enlarged(grey[low[0] : high[0], low[1] : high[1]], zoom, (float(low[0]), float(low[1])))
    for estimate, colour in _coloured(estimates):
        _draw(canvas, estimate, colour)
    words = f"apex of {estimates[0].canal.label}"
    cv2.rectangle(canvas.pixels, (0, 0), (text_width(words, 17) + 14, 28), DARK, -1)
    write_text(canvas.pixels, words, (7, 20), WHITE, 17)
    shown = canvas.pixels[:INSET, :INSET]
    strip[: shown.shape[0], _MARGIN : _MARGIN + shown.shape[1]] = shown
    return strip


def _coloured(estimates: Sequence[Estimate]) -> list[tuple[Estimate, Colour]]:
    return [(estimate, CANAL_COLOURS[n % len(CANAL_COLOURS)]) for n, estimate in enumerate(estimates)]


def _draw(canvas: Canvas, estimate: Estimate, colour: Colour) -> None:
    path = np.asarray(estimate.canal.path_px)
    curve = fit_curve(path)
    canvas.line(curve.resample(200), colour, 2)
    if estimate.reference is not None:
        known = np.asarray(estimate.reference.path_px)
        canvas.dashes(fit_curve(known).resample(100), ORANGE, 3)
        for end in known[[0, -1]]:
            canvas.square(end, ORANGE)
    for click in path[1:-1]:
        canvas.dot(click, colour)
    canvas.diamond(path[0], colour)
    canvas.cross(path[-1], colour)
    if estimate.terminus is not None and estimate.working_length is not None:
        share = estimate.working_length.value_mm / estimate.canal_length.value_mm
        t = curve.length * share
        ahead = curve.point_at(t + 1e-3) - curve.point_at(t - 1e-3)
        across = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead) * 10 / canvas.zoom
        canvas.line([curve.point_at(t) - across, curve.point_at(t) + across], WHITE, 2)


def _label(canvas: Canvas, estimate: Estimate, colour: Colour) -> None:
    """Write the canal's name above its reference point, where it hides no apex."""
    x, y = canvas.at(estimate.canal.path_px[0])[0]
    name = estimate.canal.label
    width = text_width(name, 20, 700)
    x = int(np.clip(x + 16, 4, canvas.pixels.shape[1] - width - 8))
    y = int(np.clip(y - 14, 24, canvas.pixels.shape[0] - 8))
    cv2.rectangle(canvas.pixels, (x - 5, y - 20), (x + width + 5, y + 7), DARK, -1)
    write_text(canvas.pixels, name, (x, y), colour, 20, 700)


def _scale_bar(canvas: Canvas, radiograph: Radiograph, estimates: Sequence[Estimate]) -> None:
    """Draw 5 mm in the tooth, or 1 mm on a small picture, along the columns at the lower left."""
    if not estimates:
        return
    estimate = estimates[0]
    path = np.asarray(estimate.canal.path_px)
    scale = radiograph.scale
    aspect = (scale.row_mm / scale.column_mm) if scale.row_mm and scale.column_mm else 1.0
    mm_per_px = estimate.canal_length.value_mm / fit_curve(path * (aspect, 1.0)).length
    room = canvas.pixels.shape[1] * 0.4 / canvas.zoom * mm_per_px
    bar_mm = 5.0 if room > 5 else 1.0
    length = bar_mm / mm_per_px * canvas.zoom
    y, x = canvas.pixels.shape[0] - 26, 24
    cv2.line(canvas.pixels, (x, y), (round(x + length), y), DARK, 9, cv2.LINE_AA)
    cv2.line(canvas.pixels, (x, y), (round(x + length), y), WHITE, 4, cv2.LINE_AA)
    words = f"{bar_mm:g} mm in {estimate.canal.label}"
    cv2.rectangle(canvas.pixels, (x - 4, y - 30), (x + text_width(words, 17) + 4, y - 8), DARK, -1)
    write_text(canvas.pixels, words, (x, y - 13), WHITE, 17)


def _panel(radiograph: Radiograph, estimates: Sequence[Estimate], status: str) -> NDArray[np.uint8]:
    """Return the text beside the image."""
    lines: list[tuple[str, Colour, int, int]] = [(radiograph.name, WHITE, 19, 700), (status, ORANGE, 19, 700)]
    for estimate, colour in _coloured(estimates):
        lines.append(("", WHITE, 10, 400))
        for text, size, weight in canal_lines(estimate):
            shade = colour if weight == 700 and size > 20 else WHITE if weight == 700 else GREY
            lines += [(part, shade, size, weight) for part in wrapped(text, PANEL_WIDTH - 2 * _MARGIN, size)]
    lines.append(("", WHITE, 10, 400))
    key = "◇ reference point, + radiographic apex, □ ends of the dashed reference, white tick: working length"
    for text, colour in ((key, GREY), (CAUTION, ORANGE)):
        lines += [(part, colour, 16, 400) for part in wrapped(text, PANEL_WIDTH - 2 * _MARGIN, 16)]
        lines.append(("", WHITE, 8, 400))
    needed = sum(round(size * 1.45) for _, _, size, _ in lines) + 2 * _MARGIN
    panel = np.full((needed, PANEL_WIDTH, 3), DARK, np.uint8)
    y = _MARGIN
    for text, colour, size, weight in lines:
        y += round(size * 1.45)
        if text:
            write_text(panel, text, (_MARGIN, y - round(size * 0.4)), colour, size, weight)
    return panel


def _padded(pixels: NDArray[np.uint8], height: int) -> NDArray[np.uint8]:
    below = height - pixels.shape[0]
    return np.vstack([pixels, np.full((below, pixels.shape[1], 3), DARK, np.uint8)]) if below else pixels
