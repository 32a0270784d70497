"""A report as PDF: one A4 page a tooth, the same bytes for the same record."""

from __future__ import annotations

import os
from collections.abc import Sequence

from radlength.report.catalogue import Words
from radlength.report.content import Page
from radlength.report.pdf_document import pdf_document
from radlength.report.pdf_page import PageWriter


def pdf_report(
    pages: Sequence[Page], words: Words | None = None, *, font: str | os.PathLike[str] | None = None
) -> bytes:
    """Return pages as a PDF, one A4 page each, every font embedded.

    Parameters
    ----------
    pages
        From :func:`radlength.report.content.pages`.
    words
        The language; English without it.
    font
        A TrueType font for signs that the bundled one lacks. Without it Chinese, Japanese and Korean letters are
        figures with their text behind them, and what is left is a box, which the page says.

    Raises
    ------
    ReportError
        The font cannot be embedded, or the ``report`` extra is not installed.
    """
    return pdf_document(pages, words, PageWriter, title="title", font=font)
