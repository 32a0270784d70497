from __future__ import annotations

import re
import sys
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from helpers.records import full_record, radiograph
from helpers.reports import evil, full_pages

from radlength.errors import ReportError
from radlength.finding import Finding
from radlength.report import Words, html_report, pages, pdf_report
from radlength.report.direction import marked
from radlength.trade import CAUTION, NOT_CONFIRMED


class _Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.places: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.places += [value or "" for name, value in attrs if name in ("href", "src", "xlink:href")]
        assert not [name for name, _ in attrs if name.startswith("on")]


def _seen(page: str) -> _Seen:
    seen = _Seen()
    seen.feed(page)
    return seen


def test_it_says_what_must_be_said() -> None:
    page = html_report(full_pages())
    told = re.sub(r"\s+", " ", page)
    for text in (NOT_CONFIRMED, CAUTION.replace("'", "&#39;"), "A canal length is not a working length."):
        assert text in told, text
    assert "No decision is recorded" in told


def test_it_needs_no_network_and_no_script() -> None:
    page = html_report(full_pages())
    seen = _seen(page)
    assert "script" not in seen.tags
    assert seen.places
    assert all(place.startswith("data:image/png;base64,") for place in seen.places)
    assert "default-src 'none'" in page


def test_names_never_become_markup() -> None:
    page = html_report(pages(*evil(), patient="<img src=x onerror=alert(1)>"))
    seen = _seen(page)
    assert "script" not in seen.tags
    assert "img" not in seen.tags
    assert "&lt;script&gt;" in page
    assert "\u202e" not in page
    assert "\x1b" not in page


def test_same_record_same_bytes() -> None:
    assert html_report(full_pages()) == html_report(full_pages())
    assert pdf_report(full_pages()) == pdf_report(full_pages())


def test_a_person_is_named_only_when_typed() -> None:
    image = radiograph()
    record = full_record(image)
    assert "invented person" not in html_report(pages(record, image))
    assert "Ζωή Παπά" in html_report(pages(record, image, patient="Ζωή Παπά"))


@pytest.mark.parametrize(
    ("missing", "make"),
    [("jinja2", html_report), ("reportlab.pdfbase.ttfonts", pdf_report)],
    ids=["html", "pdf"],
)
def test_without_the_extra_a_sentence_says_how(monkeypatch: pytest.MonkeyPatch, missing: str, make) -> None:
    monkeypatch.setitem(sys.modules, missing, None)
    with pytest.raises(ReportError, match=r'pip install "radlength\[report\]"'):
        make(full_pages())


def test_nothing_marked_is_refused() -> None:
    image = radiograph()
    record = full_record(image).without_canal("46 MB").without_canal("46 D")
    with pytest.raises(ReportError, match="no canal is marked"):
        pages(record, image)


def test_a_sentence_that_begins_with_a_name_from_right_to_left_does_not_turn() -> None:
    """Its numbers would stand in the other order: the tooth last, the limits of a length before it."""
    page = full_pages()[0]
    sentence = "\u05de\u05d3\u05d9\u05d3: the tip is 0.5 mm beside the canal."
    doubt = Finding("beside", sentence, "Mark it again.", "serious", "46 \u05dc\u05e9\u05d5\u05e0\u05d9 2")
    told = html_report([replace(page, doubts=(doubt,))])
    assert f'<bdi dir="ltr">{marked(sentence)}</bdi>' in told
    assert '<bdi dir="ltr">46 \u05dc\u05e9\u05d5\u05e0\u05d9 \u200e2</bdi>' in told
    assert '<html lang="en" dir="ltr">' in told


def test_a_page_in_a_language_from_right_to_left_runs_that_way() -> None:
    assert '<html lang="he" dir="rtl">' in html_report(full_pages(), Words(language="he"))
