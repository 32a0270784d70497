"""A report as PDF: one A4 page a tooth, the same bytes for the same record."""

from __future__ import annotations

import os
from collections.abc import Sequence
from io import BytesIO

from radlength.report.catalogue import Words
from radlength.report.content import Page
from radlength.report.extra import extra_module
from radlength.report.pdf_lettering import REGULAR, Lettering
from radlength.report.pdf_page import PageWriter

A4 = 595.28, 841.89


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
        A TrueType font for signs that the bundled one lacks. Without it such a sign is a box, and the page says so.

    Raises
    ------
    ReportError
        The font cannot be embedded, or the ``report`` extra is not installed.
    """
    words = words or Words()
    lettering = Lettering(font)
    data = BytesIO()
    canvas = extra_module("reportlab.pdfgen.canvas").Canvas(
        data, pagesize=A4, invariant=1, initialFontName=REGULAR, pageCompression=1, lang=words.language
    )
    canvas.setTitle(words("title", tooth=", ".join(page.tooth for page in pages)))
    canvas.setSubject(pages[0].caution)
    canvas.setCreator("radlength")
    canvas.setAuthor("")
    for page in pages:
        PageWriter(canvas, lettering, words, page).write()
        canvas.showPage()
    canvas.save()
    return data.getvalue()
