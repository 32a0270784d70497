from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from helpers.records import canal, full_record, radiograph, reference

from radlength.finding import Finding
from radlength.length import Terminus, confirm_length
from radlength.record import Record
from radlength.record.quality import image_quality
from radlength.report import html_report, pages, pdf_report
from radlength.report.catalogue import Words
from radlength.report.charts import time_chart
from radlength.report.content import told_once
from radlength.report.drawing import Label
from radlength.report.overlay import apex_drawing
from radlength.report.pdf_page import PageWriter


def test_without_a_scale_there_are_no_millimetres() -> None:
    """A page of an unscaled canal says why, and shows no length."""
    image = radiograph()
    (page,) = pages(Record.new(image, canals=[canal()]), image)
    (row,) = page.rows
    assert row.canal_length.startswith("not measured: ")
    assert row.canal_interval == row.working_interval == ""
    assert row.working_length == "no working length: no terminus stated"
    assert page.estimates == ()
    assert pdf_report([page]).startswith(b"%PDF")
    assert "not measured: " in html_report([page])


@pytest.mark.parametrize(("count", "left"), [(2, None), (6, 2), (9, 9)])
def test_a_page_says_how_many_apices_are_not_enlarged(
    monkeypatch: pytest.MonkeyPatch, count: int, left: int | None
) -> None:
    image, said = radiograph(), list[str]()
    write = PageWriter._text

    def told(self: PageWriter, text: str, size: float, *, bold: bool = False) -> None:
        said.append(text)
        write(self, text, size, bold=bold)

    monkeypatch.setattr(PageWriter, "_text", told)
    marked = [canal(name=f"C{number}") for number in range(count)]
    known = replace(reference(), canal=None)
    drawn: list[str] = []
    monkeypatch.setattr(
        "radlength.report.pdf_page.apex_drawing", lambda *given: drawn.append("") or apex_drawing(*given)
    )
    pdf_report(pages(Record.new(image, canals=marked, references=[known]), image))
    words = [text for text in said if text.startswith("Apices not enlarged here")]
    assert words == ([f"Apices not enlarged here: {left}. See the HTML report."] if left else [])
    assert len(drawn) == count - (left or 0)


def test_quality_is_shown_only_when_given() -> None:
    image = radiograph()
    record = full_record(image)
    assert pages(record, image)[0].quality == ""
    quality = image_quality(image, record)
    (page,) = pages(record, image, quality=quality)
    assert quality.doubts
    assert all(measure.name.replace("_", " ") in page.quality for measure in quality.doubts)
    assert {finding.code for finding in quality.findings} <= {doubt.code for doubt in page.doubts}


def test_serious_doubts_come_first() -> None:
    image = radiograph()
    weights = [doubt.severity for doubt in pages(full_record(image), image)[0].doubts]
    assert weights == sorted(weights, key=["serious", "question", "note"].index)
    assert weights[0] == "serious"


def test_days_below_a_time_line_do_not_cover_each_other() -> None:
    """Three days of which the last two stand as near to the right edge as leaves room for both, or just not."""
    (page,) = pages(full_record(radiograph()), radiograph())
    first = page.events[0]
    for share in np.linspace(0.7, 0.99, 59):
        events = [replace(first, when=first.when + timedelta(days=100 * part)) for part in (0.0, share, 1.0)]
        days = [shape for shape in time_chart(events, "46", Words()).shapes if isinstance(shape, Label)]
        middles = sorted(label.at[0] for label in days if len(label.text) == 10)
        assert np.all(np.diff(middles) >= 36)
        assert middles[0] > 20


def test_whose_length_it_is_stands_above_it_where_there_are_several_canals() -> None:
    """Printed grey, three canals of one tooth at one date were six marks without a name."""
    (page,) = pages(full_record(radiograph()), radiograph())
    first = page.events[0]
    several = [
        replace(first, canal=f"46 {name}", when=first.when + timedelta(days=10 * at))
        for at, name in enumerate(("MB", "ML", "D"))
    ]
    drawn = time_chart(several, "46", Words()).shapes
    names = {shape.text: shape.at for shape in drawn if isinstance(shape, Label)}
    assert names["MB"][0] < names["ML"][0] < names["D"][0]
    assert all(0 < names[name][1] < 92 for name in ("MB", "ML", "D"))
    alone = time_chart([replace(first, canal="46 MB")], "46", Words()).shapes
    assert "MB" not in [shape.text for shape in alone if isinstance(shape, Label)]


def test_a_doubt_of_several_canals_is_told_once_with_all_their_names() -> None:
    """Three canals of a molar filled half a page with one sentence."""
    image = radiograph()
    record = Record.new(
        image,
        canals=[canal(name=name) for name in ("MB", "ML", "D")],
        references=[replace(reference(), canal=None)],
    )
    (page,) = pages(record, image)
    (posterior,) = [doubt for doubt in page.doubts if doubt.code == "posterior"]
    assert posterior.subject == "46 MB, 46 ML, 46 D"


def test_doubts_that_differ_in_anything_are_told_apart() -> None:
    one = Finding("a", "0.2 mm.", "Look.", "note", "46 MB")
    others = (
        replace(one, sentence="0.3 mm."),
        replace(one, remedy="Mark."),
        replace(one, severity="serious"),
        replace(one, subject=None),
    )
    told = told_once((one, *others, replace(one, subject="46 D"), one))
    assert [doubt.subject for doubt in told] == ["46 MB", "46 MB, 46 D", "46 MB", "46 MB", None]
    assert told[0].severity == "serious"


def confirmed(record: Record, gap: float = 0.6) -> Record:
    """The record with a length-confirmation image of its first canal: set to 21 mm, so many millimetres short."""
    done = confirm_length(
        21.0, [(905.0, 452.0), (905.0 + gap / 0.025, 452.0)], mm_per_px=0.025, rule="tip within 1 mm",
        terminus=Terminus(offset_mm=1.0),
    )  # fmt: skip
    return record.with_confirmation(record.canals[0].id, done, [(905.0, 452.0), (905.0 + gap / 0.025, 452.0)])


def test_a_length_confirmation_image_is_told_with_what_was_set_and_what_the_rule_said() -> None:
    """21.0 mm set and a gap of 24 pixels of 0.025 mm: 21.6 mm, less an offset of 1 mm; by hand."""
    image = radiograph()
    record = confirmed(full_record(image))
    told = pages(record, image)[0].rows[0].confirmed
    for part in (
        "set to 21 mm, gap 0.6 mm",
        "canal length 21.6 mm",
        "working length 20.6 mm",
        "; accept (rule: tip",
    ):
        assert part in told
    assert "older marks" not in told
    assert pages(record, image)[0].rows[1].confirmed == ""
    html = html_report(pages(record, image))
    assert told in html
    repeated = pages(confirmed(record, gap=1.6), image)[0].rows[0].confirmed
    assert "; repeat (rule" in repeated or "; adjust (rule" in repeated
    entry = record.canals[0]
    moved = replace(entry.canal, path_px=[*entry.canal.path_px[:-1], (970.0, 455.0)])
    changed = record.with_canal(moved, reference=entry.reference, terminus=entry.terminus)
    assert pages(changed, image)[0].rows[0].confirmed == f"{told}; on older marks, so it confirms nothing now"
