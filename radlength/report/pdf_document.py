"""A PDF of one A4 page a tooth: the file around the pages, whatever is written on them."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from io import BytesIO
from typing import Any, Protocol, TypeVar

from radlength.report.catalogue import Words
from radlength.report.extra import extra_module
from radlength.report.pdf_lettering import REGULAR, Lettering

A4 = 595.28, 841.89


class AboutTooth(Protocol):
    """What a page is about, as the file itself says it."""

    @property
    def tooth(self) -> str:
        """Number of the tooth."""

    @property
    def caution(self) -> str:
        """The caution."""


class Writer(Protocol):
    """Writes one page."""

    def write(self) -> None:
        """Write it."""


P = TypeVar("P", bound=AboutTooth)


def pdf_document(
    pages: Sequence[P],
    words: Words | None,
    writer: Callable[[Any, Lettering, Words, P], Writer],
    *,
    title: str,
    font: str | os.PathLike[str] | None,
) -> bytes:
    """Return pages as a PDF, every font embedded; the same pages give the same bytes.

    Parameters
    ----------
    pages
        One a tooth.
    words
        The language; English without it.
    writer
        Makes what writes a page, of the canvas, the letters, the words and the page.
    title
        Key of the title in the catalogue.
    font
        A TrueType font for signs that the bundled one lacks.

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
    canvas.setTitle(words(title, tooth=", ".join(page.tooth for page in pages)))
    canvas.setSubject(pages[0].caution)
    canvas.setCreator("radlength")
    canvas.setAuthor("")
    for page in pages:
        writer(canvas, lettering, words, page).write()
        canvas.showPage()
    canvas.save()
    return data.getvalue()
