"""A case as one HTML file: no network, no script, images and charts in it."""

from __future__ import annotations

from collections.abc import Sequence

from radlength.report.case_content import CasePage
from radlength.report.catalogue import Words
from radlength.report.drawing import svg
from radlength.report.extra import extra_module
from radlength.report.html import rendered


def case_html(pages: Sequence[CasePage], words: Words | None = None) -> str:
    """Return the pages of a case as one self-contained HTML document.

    Raises
    ------
    ReportError
        The ``report`` extra is not installed.
    """
    safe = extra_module("markupsafe").Markup
    told = [
        {
            "page": page,
            "charts": [safe(svg(chart)) for chart in page.charts],
            "drawings": [(caption, safe(svg(drawing))) for caption, drawing in page.drawings],
        }
        for page in pages
    ]
    return rendered("case.html", words or Words(), pages=told)
