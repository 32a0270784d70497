"""A case as PDF: one A4 page a tooth; what matters first, what is cut said so."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from typing import Any

from radlength.report.case_content import CanalLine, CasePage
from radlength.report.catalogue import Words
from radlength.report.charts import INK
from radlength.report.pdf_document import A4, pdf_document
from radlength.report.pdf_drawing import draw
from radlength.report.pdf_lettering import Lettering
from radlength.report.pdf_page import MARGIN, WIDTH

IMAGE_HIGH = 130.0
CAUTION_SIZE, FOOT_SIZE, SMALLEST = 8.0, 6.0, 5.0


def case_pdf(
    pages: Sequence[CasePage], words: Words | None = None, *, font: str | os.PathLike[str] | None = None
) -> bytes:
    """Return the pages of a case as a PDF, every font embedded; the same case gives the same bytes.

    Raises
    ------
    ReportError
        The font cannot be embedded, or the ``report`` extra is not installed.
    """
    return pdf_document(pages, words, CaseWriter, title="case_title", font=font)


class CaseWriter:
    """Writes one tooth of a case on the current page of a canvas."""

    def __init__(self, canvas: Any, lettering: Lettering, words: Words, page: CasePage) -> None:
        self._canvas, self._letters, self._words, self._page = canvas, lettering, words, page
        self._y = A4[1] - MARGIN
        self._size = 8.0 if len(page.canals) <= 3 else 7.0

    def write(self) -> None:
        """Write the whole page, from what matters most to what may be cut."""
        page, words = self._page, self._words
        self._look_for_undrawn()
        self._text(words("case_title", tooth=page.tooth), 15, bold=True)
        self._text(f"{words('status')}: {page.status}", 10, bold=True)
        if page.patient:
            self._text(f"{words('patient')}: {page.patient}", self._size)
        if self._letters.undrawn:
            self._text(words("undrawn"), self._size, bold=True)
        floor = self._foot()
        self._heading("decision")
        self._list([text for canal in page.canals for text in _canal_texts(canal)], floor + 330)
        self._images(floor)
        self._charts(floor)
        self._heading("case_lengths")
        self._list(list(self._lengths()), floor + 90)
        self._heading("doubts")
        self._list(list(self._doubts()), floor)

    def _look_for_undrawn(self) -> None:
        """Find out whether a sign of the page is in no font, before the foot of the page is written."""
        page = self._page
        typed = [page.tooth, page.patient, *page.images]
        typed += [text for canal in page.canals for text, _ in _canal_texts(canal)]
        typed += [text for row in page.rows for text in (row.canal, row.note)]
        self._letters.undrawn = False
        for text in typed:
            self._letters.width(text, 1.0)

    def _text(self, text: str, size: float, *, bold: bool = False) -> None:
        self._canvas.setFillColorRGB(*(part / 255 for part in INK))
        for line in self._letters.wrapped(text, WIDTH - 2 * MARGIN, size, bold=bold):
            self._y -= 1.25 * size
            self._letters.draw(self._canvas, MARGIN, self._y, line, size, bold=bold)

    def _heading(self, key: str) -> None:
        self._y -= 4
        self._text(self._words(key), self._size + 1, bold=True)

    def _list(self, texts: list[tuple[str, bool]], floor: float) -> None:
        """Write texts in letters small enough for all of them, or as many as fit and how many are left."""
        size = self._size
        while size > SMALLEST and self._height(texts, size) > self._y - floor:
            size -= 0.5
        for number, (text, bold) in enumerate(texts):
            more = len(texts) - number
            if self._y - self._height([(text, bold)], size) - (1.3 * size if more > 1 else 0) < floor:
                self._text(self._words("case_more", count=more), size, bold=True)
                return
            self._text(text, size, bold=bold)

    def _height(self, texts: list[tuple[str, bool]], size: float) -> float:
        width = WIDTH - 2 * MARGIN
        return (
            1.25
            * size
            * sum(len(self._letters.wrapped(text, width, size, bold=bold)) for text, bold in texts)
        )

    def _foot(self) -> float:
        """Write caution and origin at the bottom, and return the height above which the page is free."""
        page = self._page
        lines = [(line, CAUTION_SIZE, True) for line in self._fitted(page.caution, CAUTION_SIZE, bold=True)]
        lines += [
            (line, FOOT_SIZE, False) for text in page.made[::-1] for line in self._fitted(text, FOOT_SIZE)
        ]
        y = MARGIN
        for line, size, bold in lines:
            self._letters.draw(self._canvas, MARGIN, y, line, size, bold=bold)
            y += 1.3 * size
        return y + 4

    def _fitted(self, text: str, size: float, *, bold: bool = False) -> list[str]:
        return self._letters.wrapped(text, WIDTH - 2 * MARGIN, size, bold=bold)[::-1]

    def _images(self, floor: float) -> None:
        """Draw as many images as stand side by side, and say what every one of them is."""
        page = self._page
        if not page.images:
            return
        self._heading("case_images")
        left, lowest = MARGIN, self._y
        for _, drawing in page.drawings:
            wide = IMAGE_HIGH * drawing.box[2] / drawing.box[3]
            if left + wide > WIDTH - MARGIN or self._y - IMAGE_HIGH < floor + 260:
                break
            high = draw(self._canvas, self._letters, drawing, left, self._y - 4, wide)
            lowest, left = min(lowest, self._y - 4 - high), left + wide + 6
        self._y = lowest
        self._list([(text, False) for text in page.images], floor + 240)

    def _charts(self, floor: float) -> None:
        """Draw the time lines side by side, smaller where there are many."""
        top, charts = self._y - 6, self._page.charts
        columns = 2 if len(charts) <= 2 else 3
        wide = (WIDTH - 2 * MARGIN - 11 * (columns - 1)) / columns
        for number, chart in enumerate(charts):
            high = wide * chart.box[3] / chart.box[2]
            if number % columns == 0 and number:
                top -= high + 4
            if top - high < floor + 110:
                self._y = top
                self._text(self._words("more_charts", count=len(charts) - number), self._size)
                return
            left = MARGIN + (number % columns) * (wide + 11)
            draw(self._canvas, self._letters, chart, left, top, wide)
            self._y = top - high

    def _lengths(self) -> Iterator[tuple[str, bool]]:
        if not self._page.rows:
            yield self._words("case_no_lengths"), False
        for row in self._page.rows:
            at_apex = f"; {self._words('case_at_apex')} {row.at_apex}" if row.at_apex else ""
            note = f" · {row.note}" if row.note else ""
            told = f"{row.canal} · {row.measured} · {row.how}"
            if row.stands:
                yield f"{row.number} · {told}: {row.length}{at_apex}{note}", False
            else:  # a line cannot be struck through here: why it does not stand is read before its millimetres
                yield f"{row.number}{note} · {told}: ({row.length}{at_apex})", False

    def _doubts(self) -> Iterator[tuple[str, bool]]:
        if not self._page.doubts:
            yield self._words("no_doubts"), False
        for finding in self._page.doubts:
            subject = f" · {finding.subject}" if finding.subject else ""
            text = f"{self._words(finding.severity)}{subject}: {finding.sentence} {finding.remedy}"
            yield text, finding.severity == "serious"


def _canal_texts(canal: CanalLine) -> Iterator[tuple[str, bool]]:
    yield f"{canal.label}: {canal.decision}", True
    yield "; ".join(filter(None, (canal.series, canal.notes, *canal.changes))), False
