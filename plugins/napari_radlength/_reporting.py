"""A report of the saved record, made on a thread and written when it is whole. Knows no window but a few paths."""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path

from radlength.errors import ReportError
from radlength.imaging import Radiograph
from radlength.record import Record, record_path
from radlength.whole_file import put_whole

KINDS = {
    ".pdf": "PDF, one page a tooth",
    ".html": "page for a browser",
    ".png": "annotated picture",
    ".csv": "table of lengths",
    ".geojson": "marks as lines, in pixels",
}
FILTER = ";;".join(f"{words} (*{suffix})" for suffix, words in KINDS.items())


def report_place(name: str, chosen: str) -> Path:
    """Return where a report goes: the name typed, with the suffix of the kind chosen where it has none.

    Parameters
    ----------
    name
        As typed.
    chosen
        The kind that was chosen, as :data:`FILTER` words it.

    Examples
    --------
    >>> report_place("a/tooth", "PDF, one page a tooth (*.pdf)").as_posix()
    'a/tooth.pdf'
    """
    place = Path(name)
    if place.suffix.lower() in KINDS:
        return place
    return Path(name + chosen.rpartition("*")[2].rstrip(")"))


def check_place(place: Path, image: Path, records_dir: Path | None) -> None:
    """Refuse a place for a report that is none.

    Raises
    ------
    ReportError
        It has no suffix of a report, or is the image or its record.
    """
    if place.suffix.lower() not in KINDS:
        raise ReportError(
            f"no report ends in {place.suffix or 'nothing'!r}",
            ", ".join(KINDS),
            "choose another name",
            code="report-suffix",
            subject=place.name,
        )
    for other, what in ((image, "image"), (record_path(image, records_dir), "record")):
        if place.exists() and other.exists() and place.samefile(other):
            raise ReportError(
                f"the report would replace the {what}",
                remedy="choose another name",
                code=f"report-is-{what}",
                subject=place.name,
            )


def report_steps(image: Path, records_dir: Path | None, suffix: str) -> Generator[str, None, bytes]:
    """Yield what comes next, and return the bytes of a report of the record as it was saved.

    Raises
    ------
    RadlengthError
        Image or record cannot be used, or no canal is marked.
    """
    from radlength.imaging import read_radiograph
    from radlength.record import load_record

    yield "reading"
    radiograph = read_radiograph(image)
    record = load_record(image, records_dir=records_dir)
    yield "measuring"
    if suffix == ".png":
        return (yield from _picture(record, radiograph))
    from radlength.report import html_report, pages, pdf_report, table_csv, table_geojson

    made = pages(record, radiograph)
    yield "writing"
    if suffix == ".pdf":
        return pdf_report(made)
    if suffix == ".html":
        return html_report(made).encode()
    if suffix == ".csv":
        return table_csv(made).encode("utf-8-sig")
    return table_geojson(made).encode()


def _picture(record: Record, radiograph: Radiograph) -> Generator[str, None, bytes]:
    from tempfile import TemporaryDirectory

    from radlength.report import write_png
    from radlength.report.record_picture import record_picture

    yield "drawing"
    picture, _ = record_picture(record, radiograph)
    with TemporaryDirectory() as folder:
        return write_png(Path(folder) / "picture.png", picture).read_bytes()


def write_report(place: Path, content: bytes) -> None:
    """Write a report whole or not at all.

    Raises
    ------
    ReportError
        It cannot be written.
    """
    try:
        put_whole(place, content)
    except OSError as exc:
        raise ReportError(
            f"the report cannot be written ({exc.strerror})",
            remedy="choose a folder that can be written",
            code="report-unwritable",
            subject=place.name,
        ) from exc
