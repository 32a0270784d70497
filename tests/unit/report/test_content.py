from __future__ import annotations

from helpers.records import canal, full_record, radiograph

from radlength.record import Record
from radlength.record.quality import image_quality
from radlength.report import html_report, pages, pdf_report


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
