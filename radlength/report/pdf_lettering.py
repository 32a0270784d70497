"""Letters of the PDF: embedded fonts only, a second font for signs the first lacks, outlines, a box for what none has.

Chinese, Japanese and Korean letters are outlines where no font is given, Arabic ones are joined.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any
from unicodedata import normalize

from radlength.errors import ReportError
from radlength.report.direction import visual
from radlength.report.extra import extra_module
from radlength.report.joined import joined
from radlength.report.pdf_outlines import outline

REGULAR, BOLD, GIVEN = "radlength-regular", "radlength-bold", "radlength-given"
OUTLINES = "outlines"
"""No font: each letter is filled as a figure."""

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
        """Return (font name, text) pieces that together show the text; `OUTLINES` is no font."""
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
        plain = normalize("NFKC", sign)
        if len(plain) == 1 and plain != sign:  # a joined Arabic letter whose form is in no font
            return self._font_of(plain, first)
        if outline(sign) is not None:
            return OUTLINES, sign
        self.undrawn = True
        return first, BOX

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of a text in points."""
        return sum(self._width(f, t, size) for f, t in self.runs(joined(text), bold=bold))

    def _width(self, font: str, text: str, size: float) -> float:
        if font == OUTLINES:
            return size * sum(found.width for sign in text if (found := outline(sign)))
        return float(self._metrics.stringWidth(text, font, size))

    def draw(self, canvas: Any, x: float, y: float, text: str, size: float, *, bold: bool = False) -> None:
        """Write a text from its left end on its baseline."""
        for font, piece in self.runs(visual(joined(text)), bold=bold):
            width = self._width(font, piece, size)
            if font == OUTLINES:
                self._fill(canvas, (x, y), piece, size, width)
            else:
                canvas.setFont(font, size)
                canvas.drawString(x, y, piece)
            x += width

    def _fill(self, canvas: Any, place: tuple[float, float], text: str, size: float, width: float) -> None:
        """Fill letters one behind the other, with the text itself, unseen, for who searches or copies."""
        x, y = place
        said = text.encode("utf-16-be").hex().upper()
        canvas.saveState()
        canvas._code.append(f"/Span <</ActualText <FEFF{said}>>> BDC")  # noqa: SLF001 - reportlab has no other way
        unseen = canvas.beginText(x, y)
        unseen.setTextRenderMode(3)
        unseen.setFont(REGULAR, size)
        unseen.setHorizScale(100 * width / max(self._width(REGULAR, "-", size), 0.01))
        unseen.textOut("-")
        canvas.drawText(unseen)
        for found in filter(None, map(outline, text)):
            found.fill(canvas, x, y, size)
            x += size * found.width
        canvas._code.append("EMC")  # noqa: SLF001
        canvas.restoreState()

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
    if not path.is_file():
        raise ReportError(
            "there is no such file of a font",
            "a TrueType font (.ttf or .ttc with TrueType outlines)",
            "check the path",
            code="font-unusable",
            subject=str(path),
        )
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
