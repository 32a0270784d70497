"""Whether marks belong to the pixels they are shown on."""

from __future__ import annotations

from radlength.errors import RecordError
from radlength.imaging import Radiograph
from radlength.record.record import Record


def check_binding(record: Record, radiograph: Radiograph) -> None:
    """Refuse marks that were made on other pixels.

    Raises
    ------
    RecordError
        The pixel hash, or the size or orientation, differs.
    """
    rows, columns = radiograph.shape
    same = (
        record.image.pixel_sha256 == radiograph.pixel_sha256
        and (record.image.rows, record.image.columns) == (rows, columns)
        and record.image.orientation == radiograph.facts.orientation
    )
    if not same:
        raise RecordError(
            "these marks were made on another image (pixel hash differs)",
            "they give no number here",
            "find the image they were made on, or bind them to this one on purpose: radlength mark IMAGE --rebind",
            code="record-other-pixels",
            subject=radiograph.name,
        )
