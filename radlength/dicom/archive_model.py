"""What is sent to an archive, what came of it, and what every archive can be asked, whichever way it is spoken to."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from radlength.clean import refused
from radlength.dicom.errors import ArchiveError, DicomError

State = Literal["stored", "refused", "later", "unanswered"]
"""``later``: the archive says it cannot now. ``unanswered``: the connection went away; nobody knows."""

Level = Literal["STUDY", "SERIES", "IMAGE"]
LEVELS: tuple[Level, ...] = ("STUDY", "SERIES", "IMAGE")
SHOWN: dict[Level, tuple[str, ...]] = {
    "STUDY": (
        "StudyInstanceUID",
        "PatientID",
        "PatientName",
        "StudyDate",
        "StudyDescription",
        "AccessionNumber",
    ),
    "SERIES": ("StudyInstanceUID", "SeriesInstanceUID", "Modality", "SeriesDescription", "SeriesNumber"),
    "IMAGE": ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID", "SOPClassUID", "InstanceNumber"),
}
"""What a search shows."""
MOST_FOUND = 500
"""Answers of one search at most."""

PARTIAL = "archive-partial"
"""Code of the error that ends a fetch which did not bring everything; what it brought came before."""

_UID = re.compile(r"[0-9]+(\.[0-9]+)*")
_UID_LENGTH = 64


@dataclass(frozen=True, slots=True)
class Item:
    """A file to send: where it is, and by which UIDs the archive will know it."""

    path: Path
    sop_class: str
    sop_instance: str
    study: str
    series: str
    syntax: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an archive said of one file, with its reason where it did not store it, or a remark where it did."""

    item: Item
    state: State
    why: str = ""


class Archive(Protocol):
    """An archive; :mod:`archive_dimse` and :mod:`archive_web` are the two ways to one."""

    def store(self, items: Sequence[Item]) -> Iterator[Outcome]:
        """Send files, one outcome each; ends early where the connection is lost."""
        ...

    def listed(self, items: Sequence[Item]) -> set[str]:
        """Return the SOP Instance UIDs of those that the archive lists."""
        ...

    def find(self, level: Level, query: Mapping[str, str]) -> list[dict[str, str]]:
        """Return what matches, each as keyword and value."""
        ...

    def fetch(self, study: str, series: str = "", instance: str = "") -> Iterator[tuple[str, bytes]]:
        """Yield the instances of a study, series, or one of them: UID and the bytes of a file.

        Raises
        ------
        ArchiveError
            At the end, with the code `PARTIAL`, where something of it did not come.
        """
        ...

    def again(self, items: Sequence[Item]) -> Iterator[tuple[str, bytes]]:
        """Yield what the archive holds of files that were sent: UID and the bytes of a file; ends as a fetch does."""
        ...


def check_uid(uid: str) -> str:
    """Return a UID that is one: it becomes a part of addresses and names of files.

    Raises
    ------
    ArchiveError
        It is none (PS3.5 9.1).

    Examples
    --------
    >>> check_uid("1.2.840")
    '1.2.840'
    """
    if len(uid) > _UID_LENGTH or not _UID.fullmatch(uid):
        raise ArchiveError(f"{uid[:80]!r} is not a UID", "digits and points, at most 64", code="archive-uid")
    return uid


def read_items(paths: Iterable[Path]) -> tuple[Item, ...]:
    """Return the files as items.

    Raises
    ------
    DicomError
        A file is not DICOM, lacks a UID, or two files have one UID: an archive would keep only one of them.
    """
    items = tuple(_item(path) for path in dict.fromkeys(paths))
    seen: dict[str, Path] = {}
    for item in items:
        other = seen.setdefault(item.sop_instance, item.path)
        if other != item.path:
            raise DicomError(
                f"it has the same SOP Instance UID as {other.name}",
                "one file for each UID: an archive keeps only one",
                code="archive-same-uid",
                subject=item.path.name,
            )
    return items


def _item(path: Path) -> Item:
    import pydicom

    tags = ["SOPClassUID", "SOPInstanceUID", "StudyInstanceUID", "SeriesInstanceUID"]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            dataset = pydicom.dcmread(path, stop_before_pixels=True, specific_tags=tags)
            uids = [str(dataset.get(tag) or "") for tag in tags]
            syntax = str(dataset.file_meta.get("TransferSyntaxUID") or "")
            named = ("MediaStorageSOPClassUID", "MediaStorageSOPInstanceUID")
            meta = [str(dataset.file_meta.get(tag) or "") for tag in named]
    except OSError as exc:
        raise DicomError(
            f"the file cannot be read: {refused(exc)}",
            remedy="check the path and the rights; nothing was sent",
            code="archive-file",
            subject=path.name,
        ) from exc
    except Exception as exc:
        raise DicomError(
            "it is not a DICOM file",
            "images and documents in DICOM",
            "leave it out; nothing was sent",
            code="archive-file",
            subject=path.name,
        ) from exc
    if meta != uids[:2] or not all(
        _UID.fullmatch(uid) and len(uid) <= _UID_LENGTH for uid in (*uids, syntax)
    ):
        raise DicomError(
            "its UIDs are missing, malformed or contradict each other",
            "a file as an archive or radlength writes it",
            code="archive-file",
            subject=path.name,
        )
    return Item(path, uids[0], uids[1], uids[2], uids[3], syntax)
