"""The jobs: from an image and its record to lines of a table, and to files. Nothing here changes an image or record."""

from __future__ import annotations

from pathlib import Path

from radlength.batch.task import Job, Row
from radlength.imaging import read_radiograph
from radlength.record import load_record, measure_record


def estimate(image: Path, records: Path | None) -> tuple[list[Row], dict[str, bytes]]:
    """Return the lengths of every canal, measured again from its marks."""
    from radlength.report.tables import length_row
    from radlength.report.words import status_words

    radiograph, record = read_radiograph(image), load_record(image, records_dir=records)
    status = status_words(record)
    return [length_row(image.name, status, found) for _, found in measure_record(record, radiograph)], {}


def check(image: Path, records: Path | None) -> tuple[list[Row], dict[str, bytes]]:
    """Return every stored length beside the one its marks give now."""
    from radlength.record.compare import compare_record
    from radlength.report.words import status_words

    radiograph, record = read_radiograph(image), load_record(image, records_dir=records)
    status = status_words(record)
    return [
        {
            "canal": row["canal"],
            "stored_mm": row["stored_mm"],
            "now_mm": row["now_mm"],
            "verdict": row["verdict"],
            "differing": ", ".join(row.get("differing", ())),
            "status": status,
            "not_confirmed": row.get("not_confirmed"),
        }
        for row in compare_record(record, radiograph)
    ], {}


def quality(image: Path, records: Path | None) -> tuple[list[Row], dict[str, bytes]]:
    """Return what can be computed of the quality of the image, a column a measure. Nothing is graded."""
    from radlength.record.quality_table import measured_quality

    radiograph, found = measured_quality(image, records)
    row: Row = {"pixel_sha256": radiograph.pixel_sha256}
    for measure in found.measures:
        row[measure.name + (f" ({measure.subject})" if measure.subject else "")] = measure.value
    row["doubts"] = "; ".join(one.name + (f" ({one.subject})" if one.subject else "") for one in found.doubts)
    return [row], {}


def report(image: Path, records: Path | None) -> tuple[list[Row], dict[str, bytes]]:
    """Return the report of the image as PDF and as HTML, and its lengths."""
    from radlength.report import html_report, pages, pdf_report
    from radlength.report.tables import length_row

    radiograph, record = read_radiograph(image), load_record(image, records_dir=records)
    made = pages(record, radiograph)
    rows = [length_row(image.name, page.status, found) for page in made for found in page.estimates]
    return rows, {".pdf": pdf_report(made), ".html": html_report(made).encode()}


def dicom(image: Path, records: Path | None) -> tuple[list[Row], dict[str, bytes]]:
    """Write report and presentation state of a DICOM image beside its record, and return what was written.

    Nothing is verified here: that takes a person's decision.
    """
    from radlength.dicom import write_documents

    return [
        {"kind": one.document.kind, "file": one.path.name, "sop_instance": one.document.sop_instance}
        for one in write_documents(image, records_dir=records)
    ], {}


JOBS: dict[str, Job] = {job.__name__: job for job in (estimate, check, quality, report, dicom)}
"""By name. An image that fails has one line that says why."""
