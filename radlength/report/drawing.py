"""A vector drawing of lines, areas and words that both page formats draw alike, and its SVG."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from typing import Any, Literal

from radlength.report.colours import Colour
from radlength.report.direction import marked

Place = tuple[float, float]
"""(x, y), y down."""
Points = Any
"""(x, y) places, an array of shape (N, 2) or a sequence of pairs."""
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points; `dash` are lengths of ink and gap."""

    points: tuple[Place, ...]
    colour: Colour
    width: float
    dash: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon."""

    points: tuple[Place, ...]
    colour: Colour


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a place on their baseline, on a plate of another colour where `plate` is given."""

    at: Place
    text: str
    size: float
    colour: Colour
    anchor: Anchor = "start"
    plate: Colour | None = None
    bold: bool = False


Shape = Line | Area | Label


@dataclass(slots=True)
class Drawing:
    """Shapes in order, and the part of the plane that is shown.

    Parameters
    ----------
    box
        (x, y, width, height) shown.
    alt
        What it shows, for those who do not see it.
    png
        A picture below the shapes.
    png_box
        (x, y, width, height) of the picture; the whole box without it.
    """

    box: tuple[float, float, float, float]
    alt: str
    png: bytes | None = None
    png_box: tuple[float, float, float, float] | None = None
    shapes: list[Shape] = field(default_factory=list)

    def line(
        self,
        points: Points,
        colour: Colour,
        width: float,
        dash: tuple[float, float] | None = None,
    ) -> None:
        """Add a line."""
        self.shapes.append(Line(_places(points), colour, width, dash))

    def area(self, points: Points, colour: Colour) -> None:
        """Add a filled polygon."""
        self.shapes.append(Area(_places(points), colour))

    def label(self, at: Any, text: str, size: float, colour: Colour, **more: Any) -> None:
        """Add words; `more` as the fields of :class:`Label`."""
        self.shapes.append(Label((float(at[0]), float(at[1])), text, size, colour, **more))


def _places(points: Points) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y in points)


def hexadecimal(colour: Colour) -> str:
    """Return a colour as HTML writes it.

    Examples
    --------
    >>> hexadecimal((86, 180, 233))
    '#56b4e9'
    """
    return "#{:02x}{:02x}{:02x}".format(*colour)


def svg(drawing: Drawing) -> str:
    """Return a drawing as one inline SVG element; every text in it is escaped."""
    from base64 import b64encode

    x, y, width, height = drawing.png_box or drawing.box
    view = " ".join(map(_n, drawing.box))
    name = escape(drawing.alt)
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" aria-label="{name}">']
    if drawing.png:
        data = b64encode(drawing.png).decode()
        parts.append(
            f'<image x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" '
            f'preserveAspectRatio="none" href="data:image/png;base64,{data}"/>'
        )
    parts += [_element(shape) for shape in drawing.shapes]
    return "\n".join([*parts, "</svg>"])


def _element(shape: Shape) -> str:
    colour = hexadecimal(shape.colour)
    if isinstance(shape, Label):
        return _text(shape, colour)
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
    if isinstance(shape, Area):
        return f'<polygon points="{points}" fill="{colour}"/>'
    dash = f' stroke-dasharray="{_n(shape.dash[0])} {_n(shape.dash[1])}"' if shape.dash else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{_n(shape.width)}"'
        f' stroke-linejoin="round"{dash}/>'
    )


def _text(label: Label, colour: str) -> str:
    plate = (
        f' stroke="{hexadecimal(label.plate)}" stroke-width="{_n(label.size * 0.3)}" paint-order="stroke"'
        if label.plate
        else ""
    )
    words = escape(marked(label.text))
    return (
        f'<text x="{_n(label.at[0])}" y="{_n(label.at[1])}" font-size="{_n(label.size)}" fill="{colour}" '
        f'text-anchor="{label.anchor}" font-weight="{700 if label.bold else 400}"{plate}>{words}</text>'
    )


def _n(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
