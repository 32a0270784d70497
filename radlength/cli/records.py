"""Opening a marked image: the pixels and the record that belongs to them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from radlength.clean import typed
from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.record import Record

HOW_TO_MARK = (
    'mark it: radlength mark {image} --tooth 46 --canal MB --path "ROW,COLUMN ... ROW,COLUMN" '
    '--reference-path "ROW,COLUMN ROW,COLUMN" --reference-length 21 --reference-limit 0.25 --offset-mm 1 '
    "(or --from marks.json, or in the window: radlength view {image})"
)


def open_marked(image: Path, records: Path | None) -> tuple[Record, Radiograph]:
    """Return the record of an image and the image.

    Raises
    ------
    ImageError
        The image cannot be read.
    RecordError
        There is no record, with the command that makes one; or it cannot be trusted.
    """
    from radlength.imaging import read_radiograph
    from radlength.record import load_record

    radiograph = read_radiograph(image)
    try:
        return load_record(image, records_dir=records), radiograph
    except RecordError as exc:
        if exc.code != "record-missing":
            raise
        raise RecordError(
            exc.wrong,
            "marks on the image come before a measurement",
            HOW_TO_MARK.format(image=typed(image) + (f" --records {typed(records)}" if records else "")),
            code=exc.code,
            subject=exc.subject,
        ) from exc
