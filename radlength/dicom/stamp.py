"""UIDs and times of a document: set once, the same whenever it is made again."""

from __future__ import annotations

import contextlib
import hashlib
import io
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from radlength._version import __version__
from radlength.dicom.ledger import Document

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

MAKER = "radlength"
SERIES_NUMBERS = {"sr": 9001, "pr": 9002, "sc": 9003, "derived": 9004}
_SPACE = uuid.UUID("6f0f7c52-5f1f-4a57-9d3a-0a9b4f3f6c11")
SOP_CLASSES = {
    "sr": "1.2.840.10008.5.1.4.1.1.88.33",
    "pr": "1.2.840.10008.5.1.4.1.1.11.1",
    "sc": "1.2.840.10008.5.1.4.1.1.7",
}


def entity_uid(*parts: str) -> str:
    """Return a UID in the UUID form (PS3.5 B.2), the same for the same parts.

    Examples
    --------
    >>> entity_uid("a", "b") == entity_uid("a", "b"), entity_uid("a", "b") == entity_uid("ab")
    (True, False)
    """
    return f"2.25.{uuid.uuid5(_SPACE, chr(0).join(parts)).int}"


def new_uid() -> str:
    """Return a UID that nobody has: 2.25 and a random UUID (PS3.5 B.2)."""
    return f"2.25.{uuid.uuid4().int}"


DEVICE_UID = entity_uid("device", "radlength", __version__)
"""The program as an observer; the same on every machine, so that it tells nothing of one."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """What makes a document this one and no other.

    Parameters
    ----------
    sop_instance, series_instance
        Its UIDs.
    number
        Its Instance Number.
    when
        When it was made, with its zone.
    """

    sop_instance: str
    series_instance: str
    number: int
    when: datetime


BLANK = Stamp("2.25.1", "2.25.2", 1, datetime(2000, 1, 1, tzinfo=UTC))
"""Stands in a document while its content is hashed."""


def stamp_of(document: Document) -> Stamp:
    """Return the stamp of a document of the ledger."""
    return Stamp(document.sop_instance, document.series_instance, document.number, document.when)


def put(dataset: Dataset, stamp: Stamp) -> None:
    """Write UIDs, times and instance number into a document.

    Times are those of the clock where it was made, or of the zone that the image states: a zone stated here alone
    would also move the study's times, which were copied.
    """
    from pydicom.uid import UID

    when = stamp.when
    zone = str(dataset.get("TimezoneOffsetFromUTC") or "")
    with contextlib.suppress(ValueError):
        when = when.astimezone(datetime.strptime(zone, "%z").tzinfo)
    date, time = when.strftime("%Y%m%d"), when.strftime("%H%M%S")
    dataset.SOPInstanceUID = stamp.sop_instance
    dataset.file_meta.MediaStorageSOPInstanceUID = UID(stamp.sop_instance)
    dataset.SeriesInstanceUID = stamp.series_instance
    dataset.InstanceNumber = stamp.number
    for keyword in ("InstanceCreation", "Content", "Series", "PresentationCreation"):
        if f"{keyword}Date" in dataset or keyword in ("InstanceCreation", "Series"):
            setattr(dataset, f"{keyword}Date", date)
            setattr(dataset, f"{keyword}Time", time)


def put_predecessors(dataset: Dataset, before: Sequence[Document], kind: str) -> None:
    """Name the document before this one (PS3.3 C.17.2, Predecessor Documents Sequence)."""
    from pydicom.dataset import Dataset

    if not before:
        return
    last = before[-1]
    instance, series, study = Dataset(), Dataset(), Dataset()
    instance.ReferencedSOPClassUID = SOP_CLASSES[kind]
    instance.ReferencedSOPInstanceUID = last.sop_instance
    series.SeriesInstanceUID = last.series_instance
    series.ReferencedSOPSequence = [instance]
    study.StudyInstanceUID = dataset.StudyInstanceUID
    study.ReferencedSeriesSequence = [series]
    dataset.PredecessorDocumentsSequence = [study]


def content_hash(dataset: Dataset) -> str:
    """Return the SHA-256 of a document that bears :data:`BLANK`."""
    return hashlib.sha256(encoded(dataset)).hexdigest()


def encoded(dataset: Dataset) -> bytes:
    """Return the bytes of a document's file."""
    out = io.BytesIO()
    dataset.save_as(out, enforce_file_format=True)
    return out.getvalue()
