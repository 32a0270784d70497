"""Which document got which UIDs: a small file beside the record, written before anything is sent.

A retry repeats the UIDs it finds here. Content that has changed is another document, which names the one before it.
Nothing of a person is in the file: UIDs, a hash of the content, a time.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from radlength.clean import refused
from radlength.dicom.errors import DicomError
from radlength.record import record_path
from radlength.record.lock import locked
from radlength.whole_file import put_whole

FORMAT, VERSION = "radlength-dicom", 1
KINDS = ("sr", "pr", "sc", "derived")


@dataclass(frozen=True, slots=True)
class Document:
    """One document: what kind, of which image, and the UIDs that it keeps.

    Parameters
    ----------
    kind
        ``"sr"``, ``"pr"``, ``"sc"`` or ``"derived"``.
    number
        1 for the first of its kind, counted up where the content changed.
    image, sop_instance, series_instance
        UIDs of the image, the document and its series.
    content_sha256
        What it says.
    made
        When it was assigned, ISO 8601 with its zone, to the second.
    """

    kind: str
    number: int
    image: str
    sop_instance: str
    series_instance: str
    content_sha256: str
    made: str

    @property
    def when(self) -> datetime:
        """Time it was made."""
        return datetime.fromisoformat(self.made)


def ledger_path(image: Path, records_dir: Path | None = None) -> Path:
    """Return where the ledger of an image lies.

    Examples
    --------
    >>> ledger_path(Path("a/tooth.dcm")).as_posix()
    'a/tooth.dcm.radlength-dicom.json'
    """
    record = record_path(image, records_dir)
    return record.with_name(record.name.removesuffix(".radlength.json") + ".radlength-dicom.json")


def read_ledger(path: Path) -> tuple[Document, ...]:
    """Return the documents of a ledger, none where there is no file.

    Raises
    ------
    DicomError
        The file is there and cannot be understood: UIDs already sent must not be lost.
    """
    try:
        data = json.loads(path.read_bytes())
        if data["format"] != FORMAT or data["version"] != VERSION:
            raise _unreadable(path, f"format {data['format']!r}, version {data['version']!r}")
        return tuple(Document(**entry) for entry in data["documents"])
    except FileNotFoundError:
        return ()
    except DicomError:
        raise
    except (OSError, ValueError, TypeError, KeyError, LookupError) as exc:
        raise _unreadable(path, "it cannot be read") from exc


def assign(
    path: Path,
    *,
    kind: str,
    image: str,
    content_sha256: str,
    new_uid: Callable[[], str],
    now: datetime | None = None,
) -> tuple[Document, tuple[Document, ...]]:
    """Return the document of this content and those of its kind before it; it is on disk when this returns.

    Content that returns to what it was earlier is a new document too: else the one between would stay the latest.

    Parameters
    ----------
    path
        The ledger.
    kind, image, content_sha256
        What the document is.
    new_uid
        Gives a UID that nobody has.
    now
        Time of a new document.

    Raises
    ------
    DicomError
        The ledger cannot be read or written.
    """
    try:
        with locked(path.parent):
            known = read_ledger(path)
            alike = [one for one in known if (one.kind, one.image) == (kind, image)]
            same = alike[-1] if alike and alike[-1].content_sha256 == content_sha256 else None
            if same is None:
                made = (now or datetime.now().astimezone()).replace(microsecond=0).isoformat()
                series = alike[0].series_instance if alike else new_uid()
                number = 1 + sum(one.kind == kind for one in known)
                same = Document(kind, number, image, new_uid(), series, content_sha256, made)
                _write(path, (*known, same))
    except OSError as exc:
        raise DicomError(
            f"the UIDs cannot be kept: {refused(exc)}",
            remedy="free space or rights, or keep records elsewhere with --records DIR; nothing was made",
            code="dicom-ledger",
            subject=path.name,
        ) from exc
    return same, tuple(one for one in alike if one.number < same.number)


def _write(path: Path, documents: Sequence[Document]) -> None:
    data: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "documents": [asdict(one) for one in documents],
    }
    put_whole(path, json.dumps(data, indent=1).encode() + b"\n", flush=True)


def _unreadable(path: Path, why: str) -> DicomError:
    return DicomError(
        f"the list of UIDs is not understood: {why}",
        f"{FORMAT} version {VERSION}",
        "it is left untouched; move it away only if nothing in it was ever sent",
        code="dicom-ledger",
        subject=path.name,
    )
