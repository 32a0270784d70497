"""The layout of one PDF page: what is said first, what may be left out last, and never without saying so."""

from __future__ import annotations

from typing import Any

from radlength.report.catalogue import Words
from radlength.report.charts import INK, budget_chart, time_chart
from radlength.report.colours import DARK
from radlength.report.content import CanalRow, Page
from radlength.report.drawing import Drawing
from radlength.report.overlay import apex_drawing, image_drawing, legend
from radlength.report.pdf_drawing import draw
from radlength.report.pdf_lettering import Lettering

WIDTH, HEIGHT, MARGIN = 595.28, 841.89, 36.0
IMAGE_BOX = 205.0, 270.0
SMALLEST = 5.0
MOST_APICES = 4


class PageWriter:
    """Writes one tooth on the current page of a canvas."""

    def __init__(self, canvas: Any, lettering: Lettering, words: Words, page: Page) -> None:
        self._canvas, self._letters, self._words, self._page = canvas, lettering, words, page
        self._left, self._right = MARGIN, WIDTH - MARGIN
        self._y = HEIGHT - MARGIN
        many = len(page.rows)
        self._size = 8.0 if many <= 3 else 7.0 if many <= 5 else 6.0

    def write(self) -> None:
        """Write the whole page, from what matters most to what may be cut."""
        page, words = self._page, self._words
        self._look_for_undrawn()
        self._text(words("title", tooth=page.tooth), 15, bold=True)
        self._text(f"{words('status')}: {page.status}", 10, bold=True)
        if page.patient:
            self._text(f"{words('patient')}: {page.patient}", self._size)
        if self._letters.undrawn:
            self._text(words("undrawn"), self._size, bold=True)
        self._y -= 8
        top = self._y
        below = self._image(top)
        self._left, self._y = MARGIN + IMAGE_BOX[0] + 14, top
        self._rows()
        self._heading("decision")
        self._text(page.decision, self._size, bold=True)
        self._apices(below)
        self._left, self._y = MARGIN, min(self._y, below) - 6
        floor = self._foot()
        for row in page.rows:
            if row.confirmed:
                self._text(f"{row.name}: {row.confirmed}", self._size)
        self._charts(floor)
        self._doubts(floor)

    def _look_for_undrawn(self) -> None:
        """Find out whether a sign of the page is in no font, before the foot of the page is written."""
        page = self._page
        typed = [
            page.image,
            page.patient,
            *(text for row in page.rows for text in (row.name, row.start, row.method, row.confirmed)),
        ]
        typed += [text for f in page.doubts for text in (f.sentence, f.remedy, f.subject or "")]
        self._letters.undrawn = False
        for text in typed:
            self._letters.width(text, 1.0)

    def _text(self, text: str, size: float, *, bold: bool = False) -> None:
        self._canvas.setFillColorRGB(*(part / 255 for part in INK))
        for line in self._letters.wrapped(text, self._right - self._left, size, bold=bold):
            self._y -= 1.25 * size
            self._letters.draw(self._canvas, self._left, self._y, line, size, bold=bold)

    def _heading(self, key: str) -> None:
        self._y -= 3
        self._text(self._words(key), self._size + 1, bold=True)

    def _image(self, top: float) -> float:
        """Draw the image and the legend; return where they end."""
        page, words = self._page, self._words
        drawing = image_drawing(
            page.radiograph, page.estimates, words("image_alt", name=page.image, tooth=page.tooth)
        )
        width = min(IMAGE_BOX[0], IMAGE_BOX[1] * drawing.box[2] / drawing.box[3])
        y = top - draw(self._canvas, self._letters, drawing, MARGIN, top, width) - 3
        marks = legend(words, ends=any(e.working_length for e in page.estimates))
        for number, (name, mark) in enumerate(marks):
            line = y - 12 * (number // 2)
            x = MARGIN + (number % 2) * 108
            draw(self._canvas, self._letters, mark, x, line, 14)
            self._canvas.setFillColorRGB(*(part / 255 for part in DARK))
            self._letters.draw(self._canvas, x + 17, line - 8, name, 5.5)
        self._y = y - 12 * ((len(marks) + 1) // 2)
        right, self._right = self._right, MARGIN + IMAGE_BOX[0]
        self._text(f"{words('image')}: {page.image}", 6)
        self._right = right
        return self._y

    def _rows(self) -> None:
        self._text(f"{self._words('lengths')}. {self._words('not_working')}", self._size + 1, bold=True)
        for row in self._page.rows:
            self._y -= 3
            self._row(row)

    def _row(self, row: CanalRow) -> None:
        words, size = self._words, self._size
        self._text(row.name, size + 1, bold=True)
        if row.ends_at:
            self._text(f"{words('working_length')}: {row.working_length}", size + 1.5, bold=True)
        else:
            self._text(row.working_length, size)
        if row.ends_at:
            self._text(f"{words('interval')} {row.working_interval}; {row.ends_at}", size)
        interval = f", {words('interval')} {row.canal_interval}" if row.canal_interval else ""
        self._text(f"{words('canal_length')}: {row.canal_length}{interval}", size)
        start = f"{words('start')}: {row.start}; " if row.start else ""
        self._text(f"{start}{words('method')}: {row.method}" if row.method else start, size - 1)

    def _apices(self, below: float) -> None:
        """Draw the surroundings of each apex where there is room beside the image, or say how many are left."""
        count = len(self._page.estimates)
        drawn = min(count, MOST_APICES)
        room = self._y - 4 - below
        side = min(110.0, room - 2, (self._right - self._left) / max(drawn, 1) - 4)
        if side < 45:
            drawn = 0
        for number in range(drawn):
            drawing = apex_drawing(self._page.radiograph, self._page.estimates, number, self._words)
            wide = side * min(1.0, drawing.box[2] / drawing.box[3])
            left = self._left + number * (side + 4)
            draw(self._canvas, self._letters, drawing, left, self._y - 6, wide)
        self._y -= side + 8 if drawn else 0
        if count > drawn:
            self._text(self._words("more_apices", count=count - drawn), self._size)

    def _foot(self) -> float:
        """Write caution and origin at the bottom, and return the height above which the page is free."""
        page, words = self._page, self._words
        kept, self._y = self._y, 0.0
        lines = [(line, 8.0, True) for line in self._fitted(page.caution, 8.0, bold=True)]
        lines += [(line, 6.0, False) for text in page.made[::-1] for line in self._fitted(text, 6.0)]
        for text in page.anatomy:
            anatomy = f"{words('anatomy')}: {text}"
            lines += [(line, 6.0, False) for line in self._fitted(anatomy, 6.0)]
        if page.quality:
            quality = f"{words('quality')}: {page.quality}"
            lines += [(line, 6.0, False) for line in self._fitted(quality, 6.0)]
        y = MARGIN
        for line, size, bold in lines:
            self._letters.draw(self._canvas, MARGIN, y, line, size, bold=bold)
            y += 1.3 * size
        self._y = kept
        return y + 4

    def _fitted(self, text: str, size: float, *, bold: bool = False) -> list[str]:
        return self._letters.wrapped(text, WIDTH - 2 * MARGIN, size, bold=bold)[::-1]

    def _charts(self, floor: float) -> None:
        page, words = self._page, self._words
        charts = [budget_chart(estimate, words) for estimate in page.estimates]
        half = (self._right - MARGIN - 14) / 2
        if page.events:
            charts.insert(0, time_chart(page.events, page.tooth, words))
        self._chart_headings(half)
        columns = [self._y - 4, self._y - 4]
        keep = floor + 90
        for number, chart in enumerate(charts):
            column = 0 if columns[0] >= columns[1] else 1
            if columns[column] - half * chart.box[3] / chart.box[2] < keep:
                self._y = min(columns) - 2
                self._text(words("more_charts", count=len(charts) - number), self._size)
                return
            columns[column] -= self._chart(chart, MARGIN + column * (half + 14), columns[column], half) + 4
        self._y = min(columns)

    def _chart_headings(self, half: float) -> None:
        """Write what the charts show: lengths over time, where there are any, and beside them the shares."""
        whole, top, ends = (self._left, self._right), self._y, []
        keys = ("time_line", "budget") if self._page.events else ("budget",)
        for column, key in enumerate(keys):
            self._y = top
            self._left = MARGIN + column * (half + 14)
            self._right = self._left + half if len(keys) > 1 else whole[1]
            self._heading(key)
            ends.append(self._y)
        self._left, self._right = whole
        self._y = min(ends)

    def _chart(self, chart: Drawing, left: float, top: float, width: float) -> float:
        return draw(self._canvas, self._letters, chart, left, top, width)

    def _doubts(self, floor: float) -> None:
        """Write the doubts, serious ones first, in letters small enough for all of them; or say how many are left."""
        doubts, words = self._page.doubts, self._words
        self._heading("doubts")
        if not doubts:
            self._text(words("no_doubts"), self._size)
            return
        texts = [
            f"{words(f.severity)}{f' · {f.subject}' if f.subject else ''}: {f.sentence} {f.remedy}"
            for f in doubts
        ]
        size = self._size
        while size > SMALLEST and self._height(texts, size) > self._y - floor:
            size -= 0.5
        for number, (finding, text) in enumerate(zip(doubts, texts, strict=True)):
            more = len(doubts) - number
            if self._y - self._height([text], size) - (1.3 * size if more > 1 else 0) < floor:
                serious = sum(f.severity == "serious" for f in doubts[number:])
                self._text(words("more_doubts", count=more, serious=serious), size, bold=True)
                return
            self._text(text, size, bold=finding.severity == "serious")

    def _height(self, texts: list[str], size: float) -> float:
        width = self._right - MARGIN
        return 1.25 * size * sum(len(self._letters.wrapped(text, width, size, bold=True)) for text in texts)
