"""The table of an audit: one line an image, measured columns filled, columns of the grader empty."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from numpy.typing import ArrayLike

from radlength.clean import cell
from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph, read_radiograph
from radlength.record.quality import ImageQuality, image_quality
from radlength.record.quality_grades import ERRORS, FIELDS, read_grades
from radlength.record.store import load_record
from radlength.trade import CAUTION

SUFFIXES = frozenset({".png", ".jpg", ".jpeg", ".tif", ".tiff", ".dcm", ".dicom"})
"""Files of a folder that are taken for images."""


def images_in(folder: Path) -> tuple[Path, ...]:
    """Return the image files of a folder, by name, not those of folders in it.

    Raises
    ------
    RecordError
        There is none.
    """
    found = tuple(
        sorted(path for path in folder.iterdir() if path.suffix.lower() in SUFFIXES and path.is_file())
    )
    if not found:
        raise RecordError(
            "the folder holds no image", ", ".join(sorted(SUFFIXES)), code="folder-empty", subject=folder.name
        )
    return found


def measured_quality(
    image: Path, records_dir: Path | None = None, *, edge_px: ArrayLike | None = None
) -> tuple[Radiograph, ImageQuality]:
    """Return an image and its quality, with its marks where it has a record, and an edge where one is given.

    Raises
    ------
    ImageError
        The image cannot be read.
    RecordError
        There is a record and it cannot be trusted.
    """
    radiograph = read_radiograph(image)
    try:
        record = load_record(image, records_dir=records_dir)
    except RecordError as exc:
        if exc.code != "record-missing":
            raise
        record = None
    return radiograph, image_quality(radiograph, record, edge_px=edge_px)


def table_row(image: Path, records_dir: Path | None = None) -> dict[str, str]:
    """Return the line of one image; a file that cannot be measured says why. The grader's columns stay empty."""
    row = dict.fromkeys(FIELDS, "") | {"image": image.name}
    try:
        radiograph, quality = measured_quality(image, records_dir)
    except RadlengthError as exc:
        return row | {"problem": str(exc)}
    row["pixel_sha256"] = radiograph.pixel_sha256
    for measure in quality.measures:
        name = measure.name if measure.subject is None else f"{measure.name} ({measure.subject})"
        row[name] = "" if measure.value is None else f"{measure.value:.4g}"
    row["doubts"] = "; ".join(
        measure.name + (f" ({measure.subject})" if measure.subject else "") for measure in quality.doubts
    )
    return row


def table_text(rows: Sequence[dict[str, str]]) -> str:
    """Return the table as CSV, the caution in a comment on top, the grader's columns empty and first.

    Raises
    ------
    RecordError
        A line holds a result: none is ever made here.
    """
    if any(row.get("result") or row.get("by") for row in rows):
        raise RecordError("a result in a table to be written", "only a person fills it", code="grade-made")
    names = dict.fromkeys([*FIELDS, "doubts", "problem", *(name for row in rows for name in row)])
    out = io.StringIO()
    out.write(f"# {CAUTION}\n# result: A or N, and by: who says so, are for a person to fill.\n")
    writer = csv.DictWriter(out, list(names), restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows([{name: cell(text) for name, text in row.items()} for row in rows])
    return out.getvalue()


def write_table(path: Path, text: str) -> None:
    """Write a table, unless that would take away grades that somebody typed.

    Raises
    ------
    RecordError
        The file is there and holds a grade, or is no such table.
    """
    if path.exists() and _holds_more(path):
        raise RecordError(
            "the file is there, and it holds grades or is another table",
            "grades are never overwritten",
            "choose another name for --csv",
            code="grades-kept",
            subject=path.name,
        )
    path.write_text(text, encoding="utf-8")


def _holds_more(path: Path) -> bool:
    try:
        return bool(read_grades(path).graded) or _notes(path)
    except RecordError:
        return True


def _notes(path: Path) -> bool:
    lines = [line for line in path.read_text("utf-8-sig").splitlines() if not line.startswith("#")]
    table = csv.DictReader(lines)
    own = ("by", "grader_note", *(f"error_{name}" for name in ERRORS))
    return any((row.get(name) or "").strip() for row in table for name in own)
