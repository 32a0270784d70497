"""Previews, bends and comparisons as one HTML file: pictures, tables, findings, the caution; no network, no script."""

from __future__ import annotations

import csv
import io
from base64 import b64encode
from collections.abc import Sequence
from html import escape

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.errors import ReportError
from radlength.finding import Finding, worst_first
from radlength.quantity import outward
from radlength.trade import CAUTION

_STYLE = (
    "body{font:16px/1.45 sans-serif;max-width:72rem;margin:1rem auto;padding:0 1rem;color:#1e1e24;background:#fff}"
    "img{max-width:100%}table{border-collapse:collapse;margin:1rem 0}"
    "td,th{padding:.2rem .7rem;border-bottom:1px solid #bec0c6;text-align:left}"
    "@page{margin:12mm}"
    "@media print{body{font-size:12px;max-width:none;padding:0}img{max-height:150mm}tr,p{break-inside:avoid}"
    "td,th{padding:.05rem .5rem}h1{font-size:1.5rem}}"
    ".caution{border-left:.4rem solid #e69f00;padding:.4rem .8rem}"
)
_FIGURES = frozenset({"value", "u", "low", "high"})
_PLACES = {"mm": 2, "deg": 1, "1/mm": 3, "1": 2}
"""Places behind the point by unit."""


def shape_page(
    title: str,
    pictures: Sequence[tuple[str, NDArray[np.uint8]]],
    table_csv: str,
    findings: Sequence[Finding],
    *,
    status: str,
) -> str:
    """Return one self-contained HTML page.

    Parameters
    ----------
    title
        What it is of.
    pictures
        (what it shows, RGB picture).
    table_csv
        A table as the CSV of :mod:`radlength.report.shape_tables`; its column of cautions is left out.
    findings
        Doubts.
    status
        What the record says of confirmation.

    Raises
    ------
    ReportError
        A picture cannot be packed.
    """
    parts = [
        f'<p class="caution">{escape(CAUTION)}</p>',
        f"<h1>{escape(clean(title, 120))}</h1>",
        f"<p>{escape(clean(status, 200))}</p>",
        *(_finding(finding) for finding in worst_first(findings)),
        *(_image(words, picture) for words, picture in pictures),
        _table(table_csv),
        f'<p class="caution">{escape(CAUTION)}</p>',
    ]
    head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    head += f"<title>{escape(clean(title, 120))}</title><style>{_STYLE}</style>"
    return (
        f'<!doctype html>\n<html lang="en"><head>{head}</head>\n<body>\n<main>\n'
        + "\n".join(parts)
        + "\n</main>\n</body></html>\n"
    )


def _finding(finding: Finding) -> str:
    return f"<p><b>{escape(finding.severity)}</b> {escape(clean(str(finding), 1000))}</p>"


def _image(words: str, picture: NDArray[np.uint8]) -> str:
    done, data = cv2.imencode(".png", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR))
    if not done:
        raise ReportError("a picture cannot be packed", code="picture-unwritable")
    packed = b64encode(data.tobytes()).decode()
    return f'<p><img alt="{escape(clean(words, 300))}" src="data:image/png;base64,{packed}"></p>'


def _table(text: str) -> str:
    rows = list(csv.reader(io.StringIO(text)))
    kept = [number for number, name in enumerate(rows[0]) if name != "caution"]
    lines = []
    for number, row in enumerate(rows):
        unit = dict(zip(rows[0], row, strict=True)).get("unit", "")
        cells = (_cell(rows[0][k], row[k], unit) if number else _heading(row[k]) for k in kept)
        lines.append(f"<tr>{''.join(cells)}</tr>")
    return "<table>\n" + "\n".join(lines) + "\n</table>"


def _heading(name: str) -> str:
    """Return a heading in words for a column of a table whose unit is the end of its name."""
    words, unit = (name[:-3], ", mm") if name.endswith("_mm") else (name, "")
    words = "mm from the end" if name == "mm_from_end" else words.replace("_", " ")
    return f'<th scope="col">{escape(words)}{unit}</th>'


def _cell(name: str, text: str, unit: str) -> str:
    """Return a value as it is read, the ends of an interval outward; it keeps every digit in the CSV."""
    places = 2 if name == "diameter_mm" else _PLACES.get(unit) if name in _FIGURES else None
    if text and places is not None:
        value = float(text)
        ends = dict(zip(("low", "high"), outward(value, value, places), strict=True))
        text = f"{ends.get(name, value):z.{places}f}"
    return f"<td>{escape(text)}</td>"
