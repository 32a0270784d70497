"""From a marked image to its documents on disk, each with the UIDs that the ledger keeps for it."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.clean import refused
from radlength.dicom.canals import Marked, marked
from radlength.dicom.decision import Decision
from radlength.dicom.derived import build_derived
from radlength.dicom.errors import DicomError
from radlength.dicom.ledger import Document, assign, ledger_path
from radlength.dicom.pr import build_pr
from radlength.dicom.sc import build_sc
from radlength.dicom.source import quietly, read_source
from radlength.dicom.sr import build_sr
from radlength.dicom.stamp import (
    BLANK,
    Stamp,
    content_hash,
    encoded,
    new_uid,
    put,
    put_predecessors,
    stamp_of,
)
from radlength.errors import RadlengthError
from radlength.imaging import Radiograph, read_radiograph
from radlength.record import Record, load_record, record_path
from radlength.whole_file import is_empty, put_whole

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

Builder = Callable[[Marked, Stamp], "Dataset"]
STAMPED = 4096
"""Bytes that a document may gain by its UIDs and times, and by the list of them, at most."""
_BUILDERS: dict[str, Builder] = {"sr": build_sr, "pr": build_pr, "sc": build_sc, "derived": build_derived}


@dataclass(frozen=True, slots=True)
class Written:
    """A document on disk: where, and what the ledger says of it."""

    path: Path
    document: Document


def build(kind: str, what: Marked, *, reference: str | None = None) -> tuple[Dataset, str]:
    """Return a document with :data:`~radlength.dicom.stamp.BLANK` for its UIDs, and the SHA-256 of its content.

    Parameters
    ----------
    kind
        ``"sr"``, ``"pr"``, ``"sc"`` or ``"derived"``.
    what
        What is written down.
    reference
        Reference of a calibrated copy.

    Raises
    ------
    DicomError
        It cannot be made, the image's header cannot be copied, or there is no such kind.
    """
    if kind not in _BUILDERS:
        raise DicomError(f"no document {kind!r}", f"one of: {', '.join(_BUILDERS)}", code="dicom-kind")
    try:
        with quietly():
            made = (
                build_derived(what, BLANK, reference) if kind == "derived" else _BUILDERS[kind](what, BLANK)
            )
            put(made, BLANK)
            return made, content_hash(made)
    except RadlengthError:
        raise
    except Exception as exc:
        raise DicomError(
            "the image's header holds what no document can take over",
            remedy="export the image again from where it was taken",
            code="dicom-header",
            subject=what.source.path.name,
        ) from exc


def write_documents(
    image: str | os.PathLike[str],
    kinds: Sequence[str] = ("sr", "pr"),
    *,
    decisions: Sequence[Decision] = (),
    reference: str | None = None,
    records_dir: Path | None = None,
    out: Path | None = None,
) -> tuple[Written, ...]:
    """Write the documents of a marked DICOM image beside its record.

    Parameters
    ----------
    image
        The image file; it is read only.
    kinds
        What to write: ``"sr"``, ``"pr"``, ``"sc"``, ``"derived"``.
    decisions
        What people decided. The report is verified only where every canal is.
    reference
        Name of the reference that a calibrated copy uses.
    records_dir
        Where the records are, for images on read-only media.
    out
        Folder for the documents; by default that of the record.

    Returns
    -------
    tuple of Written
        In the order asked for. The same content has the same UIDs, also later.

    Raises
    ------
    RadlengthError
        Whatever stands in the way, as one sentence. No image is ever changed.
    """
    path = Path(image)
    source = read_source(path)
    radiograph: Radiograph = read_radiograph(path)
    record: Record = load_record(path, records_dir=records_dir)
    what = marked(source, record, radiograph, decisions)
    folder = out or record_path(path, records_dir).parent
    ledger = ledger_path(path, records_dir)
    built = {kind: build(kind, what, reference=reference) for kind in dict.fromkeys(kinds)}
    _ready(folder, [made for made, _ in built.values()])
    return tuple(_write(kind, what, ledger, folder, *made) for kind, made in built.items())


def _write(kind: str, what: Marked, ledger: Path, folder: Path, made: Dataset, digest: str) -> Written:
    document, before = assign(
        ledger,
        kind=kind,
        image=str(what.source.header.SOPInstanceUID),
        content_sha256=digest,
        new_uid=new_uid,
    )
    with quietly():
        put(made, stamp_of(document))
        if kind == "sr":
            put_predecessors(made, before, kind)
        data = encoded(made)
    number = "" if document.number == 1 else f"-{document.number}"
    path = folder / f"{what.source.path.name}.radlength-{kind}{number}.dcm"
    _keep(path, data)
    return Written(path, document)


def _ready(folder: Path, documents: Sequence[Dataset]) -> None:
    """Refuse a folder that cannot be written, or has no room, before UIDs are given.

    A later document would name one before it that nobody has.
    """
    with quietly():
        room = sum(len(encoded(one)) + STAMPED for one in documents)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as tried:
            tried.write(bytes(room))
            tried.flush()
    except OSError as exc:
        raise _unwritable(folder, exc) from exc


def _unwritable(path: Path, exc: OSError) -> DicomError:
    return DicomError(
        f"the document cannot be written: {refused(exc)}",
        remedy="free space or rights, or choose another folder with --out DIR",
        code="dicom-unwritable",
        subject=path.name,
    )


def _keep(path: Path, data: bytes) -> None:
    """Write a document, or find it there already; a file that is another one is left alone."""
    try:
        if path.exists() and not is_empty(path):
            if hashlib.sha256(path.read_bytes()).digest() == hashlib.sha256(data).digest():
                return
            raise DicomError(
                "another file is in the place of the document",
                remedy="move it away; it was left untouched",
                code="dicom-in-the-way",
                subject=path.name,
            )
        put_whole(path, data)
    except OSError as exc:
        raise _unwritable(path, exc) from exc
