"""The image of a case whose marks are to be measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from radlength.clean import typed
from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.record.case import Case


def marked_image(case: Case, folder: Path, number: int) -> Path:
    """Return the path of an image of the case whose record is the one that the case knows.

    Raises
    ------
    RecordError
        No such image, or its record was made or changed since.
    """
    from radlength.record.case_images import file_sha256
    from radlength.record.case_models import ImageAdded

    added = case.event(number, ImageAdded)
    marks = folder / added.record_path if added.record_path else None
    if marks is None or not marks.is_file() or file_sha256(marks) != added.record_sha256:
        raise RecordError(
            "the record of this image was made or changed after the image was added",
            "the record as the case knows it",
            f"look at it, then add the image again: radlength case add image {typed(folder)} "
            f"{typed(added.path)} --stage {typed(added.stage)} --taken {added.taken}",
            code="case-record-changed",
            subject=added.path,
        )
    return folder / added.path
