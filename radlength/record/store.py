"""Records beside their images: found, read, and replaced whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import stat
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from radlength.clean import refused
from radlength.errors import RecordError
from radlength.record.lock import locked
from radlength.record.made import shown
from radlength.record.parse import MAX_BYTES, dump_checked, parse_record
from radlength.record.record import Record
from radlength.whole_file import give_name

SUFFIX = ".radlength.json"
ONLY_ADDED_TO = ("history", "estimates", "confirmations")
"""Parts of a record whose entries are never taken away."""
SAID = ("image", "stated_pitch_mm", "marking", "references", "canals", "confirmations")
"""Parts of a record that its lengths, and whether they are confirmed, follow from."""


def record_path(
    image_path: str | os.PathLike[str], records_dir: str | os.PathLike[str] | None = None
) -> Path:
    """Return where the record of an image lies: its full file name plus ``.radlength.json``.

    Raises
    ------
    RecordError
        The path names no file.

    Examples
    --------
    >>> record_path("a/tooth.dcm").as_posix(), record_path("a/tooth.png", "notes").as_posix()
    ('a/tooth.dcm.radlength.json', 'notes/tooth.png.radlength.json')
    """
    image = Path(image_path)
    if not image.name or "\0" in f"{image}{records_dir or ''}":
        raise RecordError(
            "the path of the image names no file",
            "the path of an image file",
            code="record-path",
            subject=shown(str(image)),
        )
    folder = Path(records_dir) if records_dir is not None else image.parent
    return folder / (image.name + SUFFIX)


def load_record(
    image_path: str | os.PathLike[str], *, records_dir: str | os.PathLike[str] | None = None
) -> Record:
    """Return the record of an image.

    Raises
    ------
    RecordError
        There is none, or it cannot be trusted.
    """
    path = record_path(image_path, records_dir)
    try:
        data = read_file(path)
    except FileNotFoundError as exc:
        raise RecordError(
            "there is no record of this image",
            remedy="mark it first: radlength mark --help",
            code="record-missing",
            subject=Path(image_path).name,
        ) from exc
    except OSError as exc:
        raise RecordError(
            f"the record cannot be read: {refused(exc)}",
            remedy="check the file and the rights to it; it is left untouched",
            code="record-unreadable",
            subject=path.name,
        ) from exc
    record = parse_record(data, name=path.name)
    _remember(record, Path(image_path), path, data)
    return record


def _remember(record: Record, image: Path, path: Path, data: bytes) -> None:
    """Keep what is on disk: the hash of the bytes, the entries that may only be added to, and if there is another."""
    record._image_path = image
    record._seen_sha256 = hashlib.sha256(data).hexdigest()
    record._seen_entries = tuple(getattr(record, part) for part in ONLY_ADDED_TO)
    record._other_beside = another_beside(image, path, data)


def another_beside(image: Path, path: Path, data: bytes) -> bool:
    """Tell whether beside an image lies a record that says something else than the one that was read, or is damaged.

    A copy that differs in what was estimated, and when, says the same.

    Parameters
    ----------
    image
        The image.
    path, data
        The record that was read, and what it holds.
    """
    beside = record_path(image)
    if beside == path:
        return False
    try:
        there = beside.stat()
    except OSError:
        return False
    try:
        return not stat.S_ISREG(there.st_mode) or _says_otherwise(read_file(beside), data)
    except OSError:
        return True  # and a pipe would be waited for


def _says_otherwise(other: bytes, data: bytes) -> bool:
    """Tell whether marks or confirmations of two records differ; one that cannot be trusted may say anything."""
    if other == data:
        return False
    try:
        one, two = parse_record(other, name=""), parse_record(data, name="")
    except RecordError:
        return True
    return any(getattr(one, part) != getattr(two, part) for part in SAID)


def seen_sha256(record: Record) -> str | None:
    """Return the hash of the bytes that a record was read from or written as; ``None`` for a new one."""
    return record._seen_sha256


def read_file(path: Path) -> bytes:
    """Return the bytes of a record or a case; of a file too large for one only enough to see that."""
    with path.open("rb") as file:
        size = os.fstat(file.fileno()).st_size  # to read all that may be read would ask for that much memory
        data = file.read(min(size, MAX_BYTES) + 1)
        return data if len(data) <= size else data + file.read(MAX_BYTES)


def save_record(
    record: Record,
    image_path: str | os.PathLike[str] | None = None,
    *,
    records_dir: str | os.PathLike[str] | None = None,
) -> Path:
    """Write a record beside its image, whole or not at all.

    Parameters
    ----------
    record
        What to write. It remembers the bytes it was read from; bytes it has not seen are never overwritten.
    image_path
        The image; by default the one the record was made of or read beside.
    records_dir
        Folder for records of images on read-only media.

    Returns
    -------
    Path
        Where it was written.

    Raises
    ------
    RecordError
        Somebody else has written meanwhile, what is there cannot be read, history was taken away, or the
        folder does not let itself be written. Then nothing was written.
    """
    image = image_path if image_path is not None else record._image_path
    if image is None:
        raise RecordError(
            "the record does not know its image file",
            remedy="give the path of the image",
            code="record-homeless",
            subject=record.image_name,
        )
    path = record_path(image, records_dir)
    data = dump_checked(record, name=path.name)
    try:
        write_alone(path, data, lambda: _refuse_unseen(path, record))
    except OSError as exc:
        raise RecordError(
            f"the record cannot be written: {refused(exc)}",
            remedy="free space or rights, or keep records elsewhere with --records DIR",
            code="record-unwritable",
            subject=path.name,
        ) from exc
    _remember(record, Path(image), path, data)
    return path


def write_alone(path: Path, data: bytes, refuse: Callable[[], None]) -> None:
    """Put bytes in place whole, as the only writer of the folder, unless `refuse` raises at what is there.

    Raises
    ------
    RecordError
        Another program holds the folder for too long, or what `refuse` raises. Then nothing was written.
    OSError
        The folder does not let itself be written.
    """
    with locked(path.parent) as alone:
        refuse()
        _replace(path, data, alone=alone)


def _refuse_unseen(path: Path, record: Record) -> None:
    try:
        there = read_file(path)
    except FileNotFoundError:
        return
    if hashlib.sha256(there).hexdigest() == record._seen_sha256:
        _refuse_shortened(record, path.name)
        return
    seen = record._seen_sha256 is not None
    parse_record(there, name=path.name)
    raise RecordError(
        "the record on disk was changed by somebody else since it was read"
        if seen
        else "there is a record on disk that was not read",
        "nothing was written, nothing is lost",
        "load it again and repeat the change",
        code="record-changed",
        subject=path.name,
    )


def _refuse_shortened(record: Record, name: str) -> None:
    for part, before in zip(ONLY_ADDED_TO, record._seen_entries, strict=True):
        if getattr(record, part)[: len(before)] != before:
            raise RecordError(
                f"the {part} on disk would lose what is in it",
                "entries are only added",
                "load the record again and repeat the change; nothing was written",
                code="record-shortened",
                subject=name,
            )


def _replace(path: Path, data: bytes, *, alone: bool) -> None:
    """Put the bytes in place whole: a temporary file beside it, flushed to the disk, then renamed.

    A writer that is alone always uses one name, so that a killed one leaves nothing behind for long.
    """
    key = hashlib.sha256(path.name.encode("utf-8", "surrogatepass")).hexdigest()[:16]
    temporary = path.parent / f".radlength-{key}{'' if alone else '-' + secrets.token_hex(8)}.part"
    try:
        with _fresh(temporary) as file:
            file.write(data)
            file.flush()
            _same_rights(path, file.fileno())
            os.fsync(file.fileno())
        give_name(temporary, path)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    _sync_folder(path.parent)


def _fresh(path: Path) -> BinaryIO:
    """Open a file that is not there; one that a killed writer left goes first."""
    try:
        return path.open("xb")
    except FileExistsError:
        path.unlink()
        return path.open("xb")


def _same_rights(old: Path, new: int) -> None:
    """Give an open file the rights of the one it replaces, where the system can (Windows cannot)."""
    with contextlib.suppress(OSError, AttributeError):
        wanted = stat.S_IMODE(old.stat().st_mode)
        if wanted != stat.S_IMODE(os.fstat(new).st_mode):
            os.fchmod(new, wanted)


def _sync_folder(folder: Path) -> None:
    """Make the new name durable, where the system can (Windows cannot): the file is in place already."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
