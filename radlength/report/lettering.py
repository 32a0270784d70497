"""Text on a picture: measured, wrapped and written in a real font, each letter with its marks as one sign."""

from __future__ import annotations

from unicodedata import normalize

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.report.colours import DARK, Colour
from radlength.report.direction import visual

BOLD = 700
FONT = "sans"
"""The font OpenCV carries inside: it has the en dash, the degree and the plus-minus sign."""


def text_width(text: str, size: int, weight: int = 400) -> int:
    """Return the width of a text in pixels."""
    box = cv2.getTextSize((8000, 8000), normalize("NFC", text), (0, 0), cv2.FontFace(FONT), size, weight)
    return int(box[2])


def write_text(
    pixels: NDArray[np.uint8], text: str, xy: tuple[int, int], colour: Colour, size: int, weight: int = 400
) -> None:
    """Write one line of text into an RGB picture, its baseline starting at (x, y)."""
    cv2.putText(pixels, visual(normalize("NFC", text)), xy, colour, cv2.FontFace(FONT), size, weight)


def write_boxed(
    pixels: NDArray[np.uint8], text: str, xy: tuple[int, int], colour: Colour, size: int, weight: int = 400
) -> None:
    """Write one line on a dark box whose top left corner is at (x, y); see :func:`box_size`."""
    x, y = xy
    width, height = box_size(text, size, weight)
    cv2.rectangle(pixels, (x, y), (x + width - 1, y + height - 1), DARK, -1)
    write_text(pixels, text, (x + 6, y + round(1.06 * size) + 2), colour, size, weight)


def box_size(text: str, size: int, weight: int = 400) -> tuple[int, int]:
    """Return (width, height) of a boxed text in pixels."""
    return text_width(text, size, weight) + 12, round(1.4 * size) + 4


def wrapped(text: str, width: int, size: int, weight: int = 400) -> list[str]:
    """Return a text as lines that fit a width in pixels; a word that is longer is cut.

    Examples
    --------
    >>> wrapped("canal length", 4000, 18)
    ['canal length']
    >>> "".join(wrapped("a_very_long_file_name_without_any_space.png", 120, 18))
    'a_very_long_file_name_without_any_space.png'
    """
    lines: list[str] = []
    line = ""
    for word in (part for long in text.split() for part in _cut(long, width, size, weight)):
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, weight) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def shortened(text: str, width: int, size: int, weight: int = 400) -> str:
    """Return a text that fits a width in pixels: whole, or its first line with an ellipsis.

    Examples
    --------
    >>> shortened("46 MB", 4000, 18)
    '46 MB'
    """
    lines = wrapped(text, width, size, weight)
    return text if len(lines) <= 1 else f"{lines[0][:-1]}…"


def _cut(word: str, width: int, size: int, weight: int) -> list[str]:
    parts = []
    while len(word) > 1 and text_width(word, size, weight) > width:
        keep = len(word) - 1
        while keep > 1 and text_width(word[:keep], size, weight) > width:
            keep -= 1
        parts.append(word[:keep])
        word = word[keep:]
    return [*parts, word]
