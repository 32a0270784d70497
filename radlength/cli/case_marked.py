"""The image of a case whose marks are to be measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from radlength.cli.case_said import add_again
from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.record.case import Case


def marked_image(case: Case, folder: Path, number: int) -> Path:
    """Return the path of an image of the case whose record is the one that the case knows.

    Where the image was added again as the same file, the newest entry counts.

    Raises
    ------
    RecordError
        No such image, another file was added in its place, or its record was made or changed since.
    """
    from radlength.record.case_images import file_sha256
    from radlength.record.case_models import ImageAdded

    named = case.event(number, ImageAdded)
    added = next((image for image in case.images if image.path == named.path), named)
    if added.file_sha256 != named.file_sha256:
        raise RecordError(
            f"image {number} is another file since it was added again as {added.number}",
            "the two images that the pair was stated of",
            "state the pair again: radlength case add views --help",
            code="case-image-replaced",
            subject=added.path,
        )
    marks = folder / added.record_path if added.record_path else None
    if marks is None or not marks.is_file() or file_sha256(marks) != added.record_sha256:
        raise RecordError(
            "the record of this image was made or changed after the image was added",
            "the record as the case knows it",
            f"look at it, then add the image again: {add_again(folder, added)}",
            code="case-record-changed",
            subject=added.path,
        )
    return folder / added.path
