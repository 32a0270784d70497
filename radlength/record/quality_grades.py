"""Grades of images that people give: read from a table, checked, never made.

The only way a grade comes to be is that a person types it into the table's empty columns. Nothing here or anywhere
writes one.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from radlength.errors import RecordError

Result = Literal["A", "N"]
GRADE_SOURCE = (
    "A acceptable, N not acceptable: no or minimal errors in preparation, exposure, positioning and processing, and "
    "sufficient to answer the question (CGDent and PHE 2020; SDCEP)"
)
ERRORS: Final = ("preparation", "exposure", "positioning", "processing", "other")
"""Kinds of error, columns in which a person may put an x or a word."""
FIELDS: Final = (
    "image",
    "pixel_sha256",
    "result",
    "by",
    *(f"error_{name}" for name in ERRORS),
    "grader_note",
)
"""Columns that a table of grades must have; others are passed over."""
MOST_BYTES = 20_000_000


@dataclass(frozen=True, slots=True)
class Grade:
    """What a person says of one image.

    Parameters
    ----------
    image
        File name.
    pixel_sha256
        The pixels that were graded.
    result
        ``"A"`` acceptable or ``"N"`` not acceptable.
    by
        Who says so.
    errors
        Kinds of error that are named, of :data:`ERRORS`.
    note
        In the grader's words. May be empty.
    """

    image: str
    pixel_sha256: str
    result: Result
    by: str
    errors: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Grades:
    """A table of grades as it was read.

    Parameters
    ----------
    graded
        Rows with a result and a name.
    ungraded
        Images whose result is still empty.
    """

    graded: tuple[Grade, ...]
    ungraded: tuple[str, ...]


def read_grades(path: Path) -> Grades:
    """Return the grades that people typed into a table.

    Parameters
    ----------
    path
        CSV file in UTF-8 with the columns of :data:`FIELDS`, with commas, semicolons or tabs between them.

    Raises
    ------
    RecordError
        Not such a table; a result that is neither A nor N; a result that nobody puts a name to; or one image twice.
    """
    rows = _rows(path)
    graded, ungraded, seen = [], [], dict[str, int]()
    for number, row in rows:
        image = row["image"]
        key = row["pixel_sha256"] or image
        if key in seen:
            raise RecordError(
                f"line {number} is the same image as line {seen[key]}",
                "each image once",
                "take one line out",
                code="grade-twice",
                subject=path.name,
            )
        seen[key] = number
        if not row["result"]:
            ungraded.append(image)
        else:
            graded.append(_grade(row, number, path.name))
    return Grades(tuple(graded), tuple(ungraded))


def _rows(path: Path) -> list[tuple[int, dict[str, str]]]:
    if path.stat().st_size > MOST_BYTES:
        raise RecordError(
            "the table is too large", f"{MOST_BYTES} bytes", code="grades-table", subject=path.name
        )
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise RecordError(
            "the table is not UTF-8",
            "a CSV file",
            "store it as CSV UTF-8",
            code="grades-table",
            subject=path.name,
        ) from exc
    lines = [line for line in text.splitlines() if line and not line.lstrip('"').startswith("#")]
    head = lines[0] if lines else ""
    mark = max(",;\t", key=head.count)
    try:
        table = list(csv.DictReader(io.StringIO("\n".join(lines)), delimiter=mark, strict=True))
    except csv.Error as exc:
        raise RecordError(
            "the table is broken", "a CSV file", "store it anew", code="grades-table", subject=path.name
        ) from exc
    missing = [name for name in FIELDS[:4] if name not in head.split(mark)]
    if missing:
        raise RecordError(
            f"the table has no column {', '.join(missing)}",
            "the table that radlength quality FOLDER --csv writes",
            code="grades-table",
            subject=path.name,
        )
    skipped = text.splitlines().index(head) + 2
    return [
        (number, {name: (row.get(name) or "").strip() for name in FIELDS})
        for number, row in enumerate(table, skipped)
    ]


def _grade(row: dict[str, str], number: int, subject: str) -> Grade:
    result: Result
    if row["result"] in ("A", "a"):
        result = "A"
    elif row["result"] in ("N", "n"):
        result = "N"
    else:
        raise RecordError(
            f"line {number} has the result {row['result'][:20]!r}",
            "A or N, or nothing",
            code="grade-unknown",
            subject=subject,
        )
    if not row["by"]:
        raise RecordError(
            f"line {number} has a result that nobody puts a name to",
            "the name of who graded it in the column by",
            code="grade-nobody",
            subject=subject,
        )
    errors = tuple(name for name in ERRORS if row[f"error_{name}"])
    return Grade(row["image"], row["pixel_sha256"], result, row["by"], errors, row["grader_note"])
