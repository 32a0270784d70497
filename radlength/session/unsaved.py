"""Marks that are not in the record yet, kept in a file of their own so that a killed process loses none.

Not a record: it may hold a canal of one click, it is nobody's result, and it goes when the record is saved.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph
from radlength.record import record_path
from radlength.session.drafts import Annotation
from radlength.trade import CAUTION

FORMAT, VERSION = "radlength-unsaved", 1
LARGEST = 5_000_000
"""Bytes; what is larger was not written here."""


def unsaved_path(image: Path, records_dir: Path | None = None) -> Path:
    """Return where the unsaved marks of an image lie: beside its record.

    Examples
    --------
    >>> unsaved_path(Path("a/tooth.png")).as_posix()
    'a/tooth.png.radlength.unsaved'
    """
    return record_path(image, records_dir).with_suffix(".unsaved")


def write_unsaved(path: Path, marks: Annotation, radiograph: Radiograph) -> None:
    """Write marks whole or not at all.

    Raises
    ------
    RecordError
        The folder cannot be written.
    """
    data = {
        "format": FORMAT,
        "version": VERSION,
        "caution": CAUTION,
        "pixel_sha256": radiograph.pixel_sha256,
        "marks": TypeAdapter(Annotation).dump_python(marks, mode="json"),
    }
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(json.dumps(data, allow_nan=False), encoding="utf-8")
        part.replace(path)
    except OSError as exc:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise RecordError(
            f"unsaved marks cannot be kept ({exc.strerror})",
            remedy="save the record into a folder that can be written",
            code="unsaved-unwritable",
            subject=path.name,
        ) from exc


def read_unsaved(path: Path, radiograph: Radiograph) -> Annotation | None:
    """Return marks that were never saved, or ``None`` where there are none for these pixels.

    Raises
    ------
    RecordError
        The file is there and cannot be read. It stays where it is.
    """
    if not path.is_file():
        return None
    try:
        data: dict[str, Any] = json.loads(_text(path))
        same = data["format"] == FORMAT and data["version"] == VERSION
        if not same or data["pixel_sha256"] != radiograph.pixel_sha256:
            return None
        return _annotation(data["marks"])
    except (OSError, ValueError, LookupError, TypeError) as exc:
        raise RecordError(
            "unsaved marks of an earlier time cannot be read",
            remedy="they stay in that file; go on without them",
            code="unsaved-unreadable",
            subject=path.name,
        ) from exc


def _text(path: Path) -> str:
    if path.stat().st_size > LARGEST:
        message = "too large"
        raise ValueError(message)
    return path.read_text(encoding="utf-8")


def _annotation(data: Any) -> Annotation:
    try:
        marks: Annotation = TypeAdapter(Annotation).validate_python(data)
    except RadlengthError as exc:
        raise ValueError(str(exc)) from exc
    if not (marks.references and 0 <= marks.current < len(marks.canals)):
        message = "no canal is current"
        raise ValueError(message)
    return marks
