"""Names and words from strangers in every output: no formula, no script, nothing that steers a terminal.

Starts that a spreadsheet runs: OWASP, "CSV Injection"; characters that turn the direction of writing: Unicode Standard
Annex 9 (both from memory).
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from helpers.made_case import NOON, full_case, with_decision, with_length
from helpers.records import canal, full_record, radiograph, reference

from radlength.batch.table import batch_csv
from radlength.length import Terminus
from radlength.record import Case, Record, add_canal, note_canal
from radlength.report import (
    case_csv,
    case_html,
    case_pages,
    case_pdf,
    html_report,
    pages,
    pdf_report,
    table_csv,
)

ATTACKS = {
    "formula": "=HYPERLINK(1)",
    "plus": "+1+cmd|' /C calc'!A0",
    "at": "@SUM(1)",
    "wide-formula": "\uff1dcmd",
    "tab-formula": "\t=1+1",
    "script": "<script>alert(1)</script>",
    "image": '"><img src=x onerror=alert(1)>',
    "end-of-svg": "</svg></style><iframe src=javascript:1>",
    "right-to-left": "MB\u202e\u2066gpj.exe",
    "terminal": "MB\x1b]0;owned\x07\x9b31m",
    "template": "{{ 7 * 7 }}{% raw %}",
    "pdf-string": ") Tj (x) /JS (app.alert(1)) >> endobj",
    "format": "%s%n{0.__class__}",
    "line": "MB\r\n=1+1\u2028=2",
}
HARMFUL_PDF = (b"/JavaScript", b"/JS", b"/OpenAction", b"/Launch", b"/URI", b"/EmbeddedFile", b"/AA")
ALLOWED_CONTROL = {"\n", "\r", "\t"}


class _Tags(HTMLParser):
    """Everything that a browser would see as a tag or run."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.runs: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.runs += [name for name, _ in attrs if name.startswith("on")]
        self.runs += [
            value for _, value in attrs if value and value.strip().lower().startswith("javascript:")
        ]


def evil_record(words: str):
    image = radiograph(name="tooth.tif")
    marked = replace(canal(name=words), reference_point=words)
    known = replace(reference(name=words), canal=words)
    return Record.new(
        image, canals=[marked], references=[known], terminus=Terminus(offset_mm=1.0), who=words, when=NOON
    ), image


def evil_case(words: str, folder) -> Case:
    case = add_canal(full_case(folder), "46", words, reference_point=words, when=NOON)
    label = case.canals[-1].label
    case = with_length(case, canal=label, rule=words, source=words, ruler=words)
    case = note_canal(case, label, "other", words=words, when=NOON)
    return with_decision(case, 21.0, canal=label, by=words, why=words)


def steering(text: str) -> set[str]:
    """Return characters that turn the direction of writing, or that a terminal obeys."""
    return (
        {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")}
        - ALLOWED_CONTROL
        - {"\ufeff"}
    )


def check_html(page: str, plain: str) -> None:
    seen, harmless = _Tags(), _Tags()
    seen.feed(page)
    harmless.feed(plain)
    assert seen.tags <= harmless.tags
    assert seen.runs == []
    assert steering(page) == set()
    assert "49}" not in page
    assert ">49<" not in page


def check_csv(text: str) -> None:
    rows = list(csv.reader(io.StringIO(text)))
    widths = {len(row) for row in rows}
    assert len(widths) == 1
    cells = [cell for row in rows for cell in row]
    starting = [cell for cell in cells if re.match(r"[\s\ufeff]*[=+\-@\uff1d\uff0b\uff0d\uff20\t\r]", cell)]
    assert [cell for cell in starting if not re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", cell)] == []
    assert steering(text) == set()


def check_pdf(data: bytes) -> None:
    outside = re.sub(rb"stream\r?\n.*?endstream", b"", data, flags=re.DOTALL)
    assert len(outside) > 500
    assert [word for word in HARMFUL_PDF if re.search(word + rb"\b", outside)] == []


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plain")
    image = radiograph(name="tooth.tif")
    return html_report(pages(full_record(image), image)) + case_html(
        case_pages(evil_case("usual", folder), folder)
    )


@pytest.mark.parametrize("words", ATTACKS.values(), ids=ATTACKS.keys())
def test_words_in_a_record_are_only_words_in_its_report(words: str, plain: str) -> None:
    made = pages(*evil_record(words), patient=words)
    check_html(html_report(made), plain)
    check_csv(table_csv(made))
    check_pdf(pdf_report(made))


@pytest.mark.parametrize("words", ATTACKS.values(), ids=ATTACKS.keys())
def test_words_in_a_case_are_only_words_in_its_pages(words: str, plain: str, tmp_path) -> None:
    case = evil_case(words, tmp_path)
    made = case_pages(case, tmp_path, patient=words)
    check_html(case_html(made), plain)
    check_csv(case_csv(case))
    check_pdf(case_pdf(made))


@pytest.mark.parametrize("words", ATTACKS.values(), ids=ATTACKS.keys())
def test_words_in_a_file_name_are_only_words_in_a_batch(words: str) -> None:
    check_csv(batch_csv([{"image": words, "canal": words, "problem": words, words: 1.0}]))


@pytest.mark.parametrize("check", [check_html, check_csv, check_pdf], ids=lambda check: check.__name__)
def test_the_checks_see_a_planted_attack(check) -> None:
    planted = {
        check_html: lambda: check_html("<p><script>1</script>", "<p>"),
        check_csv: lambda: check_csv("a,b\r\n1,=1+1\r\n"),
        check_pdf: lambda: check_pdf(b"<< /OpenAction 1 0 R >>" + b" " * 600),
    }
    with pytest.raises(AssertionError, match=r"assert|="):
        planted[check]()
