"""A vector drawing on a PDF page."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from radlength.report.colours import Colour
from radlength.report.drawing import Area, Drawing, Label, Shape
from radlength.report.extra import extra_module
from radlength.report.pdf_lettering import Lettering


def draw(canvas: Any, lettering: Lettering, drawing: Drawing, left: float, top: float, width: float) -> float:
    """Draw with its upper left corner at (left, top), as wide as `width` points; return its height in points."""
    x, y, across, down = drawing.box
    scale = width / across
    canvas.saveState()
    canvas.translate(left, top)
    canvas.scale(scale, scale)
    canvas.translate(-x, y)
    clip = canvas.beginPath()
    clip.rect(x, -y - down, across, down)
    canvas.clipPath(clip, stroke=0, fill=0)
    if drawing.png:
        reader = extra_module("reportlab.lib.utils").ImageReader(BytesIO(drawing.png))
        png_x, png_y, wide, high = drawing.png_box or drawing.box
        canvas.drawImage(reader, png_x, -png_y - high, wide, high)
    for shape in drawing.shapes:
        _shape(canvas, lettering, shape)
    canvas.restoreState()
    return down * scale


def _shape(canvas: Any, lettering: Lettering, shape: Shape) -> None:
    if isinstance(shape, Label):
        _label(canvas, lettering, shape)
        return
    path = canvas.beginPath()
    path.moveTo(shape.points[0][0], -shape.points[0][1])
    for x, y in shape.points[1:]:
        path.lineTo(x, -y)
    if isinstance(shape, Area):
        path.close()
        canvas.setFillColorRGB(*_part(shape.colour))
        canvas.drawPath(path, stroke=0, fill=1)
        return
    canvas.setStrokeColorRGB(*_part(shape.colour))
    canvas.setLineWidth(shape.width)
    canvas.setDash(*shape.dash) if shape.dash else canvas.setDash()
    canvas.setLineJoin(1)
    canvas.drawPath(path, stroke=1, fill=0)


def _label(canvas: Any, lettering: Lettering, label: Label) -> None:
    width = lettering.width(label.text, label.size, bold=label.bold)
    x = label.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * width
    y = -label.at[1]
    if label.plate:
        canvas.setFillColorRGB(*_part(label.plate))
        pad = 0.15 * label.size
        canvas.rect(x - pad, y - 0.28 * label.size, width + 2 * pad, 1.2 * label.size, stroke=0, fill=1)
    canvas.setFillColorRGB(*_part(label.colour))
    lettering.draw(canvas, x, y, label.text, label.size, bold=label.bold)


def _part(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = (value / 255 for value in colour)
    return red, green, blue
