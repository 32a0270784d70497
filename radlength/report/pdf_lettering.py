"""Letters of the PDF: embedded fonts only, a second font for signs the first lacks, a box for what none has."""

from __future__ import annotations

import os
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from radlength.errors import ReportError
from radlength.report.direction import visual
from radlength.report.extra import extra_module

REGULAR, BOLD, GIVEN = "radlength-regular", "radlength-bold", "radlength-given"
BOX = "□"


class Lettering:
    """The fonts of one document.

    Parameters
    ----------
    font
        A TrueType font for signs that the bundled one lacks, for instance Chinese ones.

    Raises
    ------
    ReportError
        The font cannot be embedded, or the ``report`` extra is not installed.
    """

    def __init__(self, font: str | os.PathLike[str] | None = None) -> None:
        ttfonts = extra_module("reportlab.pdfbase.ttfonts")
        self._metrics = extra_module("reportlab.pdfbase.pdfmetrics")
        folder = files("radlength.report").joinpath("fonts")
        self._signs: dict[str, Any] = {}
        for name, file in ((REGULAR, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
            self._add(name, ttfonts.TTFont(name, str(folder.joinpath(file))))
        if font is not None:
            self._add(GIVEN, _given(ttfonts, Path(font)))
        self.undrawn = False

    def _add(self, name: str, font: Any) -> None:
        self._metrics.registerFont(font)
        self._signs[name] = font.face.charToGlyph

    def runs(self, text: str, *, bold: bool = False) -> Iterator[tuple[str, str]]:
        """Return (font name, text) pieces that together show the text."""
        first = BOLD if bold else REGULAR
        piece, current = "", first
        for sign in text:
            name, shown = self._font_of(sign, first)
            if name != current and piece:
                yield current, piece
                piece = ""
            piece, current = piece + shown, name
        if piece:
            yield current, piece

    def _font_of(self, sign: str, first: str) -> tuple[str, str]:
        for name in (first, GIVEN, REGULAR):
            if ord(sign) in self._signs.get(name, {}):
                return name, sign
        self.undrawn = True
        return first, BOX

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of a text in points."""
        return float(sum(self._metrics.stringWidth(t, f, size) for f, t in self.runs(text, bold=bold)))

    def draw(self, canvas: Any, x: float, y: float, text: str, size: float, *, bold: bool = False) -> None:
        """Write a text from its left end on its baseline."""
        for font, piece in self.runs(visual(text), bold=bold):
            canvas.setFont(font, size)
            canvas.drawString(x, y, piece)
            x += self._metrics.stringWidth(piece, font, size)

    def wrapped(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """Return a text as lines no wider than `width` points; a word that is too long is cut."""
        lines, line = [], ""
        for word in text.split():
            rest = word
            tried = f"{line} {rest}".strip()
            if self.width(tried, size, bold=bold) <= width:
                line = tried
                continue
            if line:
                lines.append(line)
            while self.width(rest, size, bold=bold) > width and len(rest) > 1:
                count = next(
                    n
                    for n in range(len(rest) - 1, 0, -1)
                    if n == 1 or self.width(rest[:n], size, bold=bold) <= width
                )
                lines.append(rest[:count])
                rest = rest[count:]
            line = rest
        return [*lines, line] if line else lines


def _given(ttfonts: Any, path: Path) -> Any:
    try:
        return ttfonts.TTFont(GIVEN, str(path))
    except (ttfonts.TTFError, OSError, ValueError, KeyError, IndexError) as exc:
        raise ReportError(
            "the font cannot be embedded",
            "a TrueType font (.ttf or .ttc with TrueType outlines) that may be embedded",
            "choose another one, or leave --font out",
            code="font-unusable",
            subject=str(path),
        ) from exc
