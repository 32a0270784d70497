"""Colours of the picture, told apart with any colour vision, and the sizes of its parts."""

from __future__ import annotations

Colour = tuple[int, int, int]
"""Red, green, blue, 0..255."""

BLUE: Colour = (86, 180, 233)
ORANGE: Colour = (230, 159, 0)
GREEN: Colour = (0, 190, 140)
YELLOW: Colour = (240, 228, 66)
PINK: Colour = (222, 140, 185)
RED: Colour = (255, 122, 66)
WHITE: Colour = (255, 255, 255)
PALE: Colour = (198, 200, 206)
DARK: Colour = (20, 20, 24)
CANAL_COLOURS: tuple[Colour, ...] = (BLUE, GREEN, YELLOW, PINK)
"""After Okabe and Ito (2008), "Color Universal Design"; green, pink and red lighter, to stand on black."""


def canal_colour(number: int) -> Colour:
    """Return the colour of a canal by its place in the record, from 0."""
    return CANAL_COLOURS[number % len(CANAL_COLOURS)]


Dash = tuple[float, float]
LINES: tuple[tuple[Dash | None, str], ...] = ((None, ""), ((7.0, 3.0), " – –"), ((1.6, 2.4), " · · ·"))
"""Ink and gap of a line, in small lengths of a drawing, and the sign behind the name of its canal."""


def canal_dash(number: int) -> Dash | None:
    """Return the dashes of a canal's line, where its colour has come before.

    Examples
    --------
    >>> canal_dash(3), canal_dash(4)
    (None, (7.0, 3.0))
    """
    return LINES[number // len(CANAL_COLOURS) % len(LINES)][0]


def canal_sign(number: int) -> str:
    """Return what stands behind the name of a canal whose line is dashed, nothing for the first ones."""
    return LINES[number // len(CANAL_COLOURS) % len(LINES)][1]
