"""Letters of the PDF: embedded fonts only, a second font for signs the first lacks, outlines, a box for what none has.

Chinese, Japanese and Korean letters are outlines where no font is given, Arabic ones are joined.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from itertools import groupby
from pathlib import Path
from typing import Any
from unicodedata import normalize

from radlength.errors import ReportError
from radlength.report.direction import visual
from radlength.report.extra import extra_module
from radlength.report.joined import is_form, joined
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
        if is_form(sign) and len(plain := normalize("NFKC", sign)) == 1:  # its form is in no font
            return self._font_of(plain, first)
        if outline(sign) is not None:
            return OUTLINES, sign
        self.undrawn = True
        return first, BOX

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of a text in points."""
        return sum(self._width(f, t, size) for f, t in self.runs(_composed(text), bold=bold))

    def _width(self, font: str, text: str, size: float) -> float:
        if font == OUTLINES:
            return size * sum(found.width for sign in text if (found := outline(sign)))
        return float(self._metrics.stringWidth(text, font, size))

    def draw(self, canvas: Any, x: float, y: float, text: str, size: float, *, bold: bool = False) -> None:
        """Write a text from its left end on its baseline."""
        for font, piece in self.runs(visual(_composed(text)), bold=bold):
            for said, part in _parts(font, piece):
                width = self._width(font, part, size)
                with _saying(canvas, said):
                    if font == OUTLINES:
                        self._fill(canvas, (x, y), part, size, width)
                    else:
                        canvas.setFont(font, size)
                        canvas.drawString(x, y, part)
                x += width

    def _fill(self, canvas: Any, place: tuple[float, float], text: str, size: float, width: float) -> None:
        """Fill letters one behind the other, below them a dash, unseen: what they say needs text to stand for."""
        x, y = place
        canvas.saveState()
        unseen = canvas.beginText(x, y)
        unseen.setTextRenderMode(3)
        unseen.setFont(REGULAR, size)
        unseen.setHorizScale(100 * width / max(self._width(REGULAR, "-", size), 0.01))
        unseen.textOut("-")
        canvas.drawText(unseen)
        for found in filter(None, map(outline, text)):
            found.fill(canvas, x, y, size)
            x += size * found.width
        canvas.restoreState()

    def wrapped(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """Return a text as lines no wider than `width` points; a word that is too long is cut."""
        lines, line = [], ""
        for word in normalize("NFC", text).split():
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


def _composed(text: str) -> str:
    """Return a text with letters and their marks as one sign where there is one, Arabic letters joined."""
    return joined(normalize("NFC", text))


def _parts(font: str, piece: str) -> Iterator[tuple[str, str]]:
    """Return (what it says where the font does not tell, letters) of a piece, one behind the other.

    Two letters in one sign, lam and alef, say that sign: readers that turn lines would turn the two letters as well.
    """
    if font == OUTLINES:
        yield piece, piece
        return
    for apart, letters in groupby(piece, key=lambda sign: ord(sign) > 0xFFFF or is_form(sign)):
        if apart:
            for letter in letters:
                plain = normalize("NFKC", letter)
                yield plain if len(plain) == 1 else letter, letter
        else:
            yield "", "".join(letters)


@contextmanager
def _saying(canvas: Any, text: str) -> Iterator[None]:
    """Note what is drawn meanwhile as a text, for who searches or copies; nothing is noted of an empty one."""
    code = canvas._code  # noqa: SLF001 - reportlab has no other way
    if text:
        code.append(f"/Span <</ActualText <FEFF{text.encode('utf-16-be').hex().upper()}>>> BDC")
    yield
    if text:
        code.append("EMC")


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
