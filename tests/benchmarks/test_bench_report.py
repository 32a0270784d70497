from __future__ import annotations

from helpers.reports import full_pages

from radlength.report import html_report, pdf_report


def test_html_of_two_canals(benchmark) -> None:
    made = full_pages()
    assert "<svg" in benchmark(html_report, made)


def test_pdf_of_two_canals(benchmark) -> None:
    made = full_pages()
    assert benchmark(pdf_report, made).startswith(b"%PDF")
