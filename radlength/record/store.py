"""Records beside their images: found, read, and replaced whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from radlength.errors import RecordError
from radlength.record.parse import dump_record, parse_record
from radlength.record.record import Record

SUFFIX = ".radlength.json"


def record_path(
    image_path: str | os.PathLike[str], records_dir: str | os.PathLike[str] | None = None
) -> Path:
    """Return where the record of an image lies: its full file name plus ``.radlength.json``.

    Examples
    --------
    >>> record_path("a/tooth.dcm").as_posix(), record_path("a/tooth.png", "notes").as_posix()
    ('a/tooth.dcm.radlength.json', 'notes/tooth.png.radlength.json')
    """
    image = Path(image_path)
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
        data = path.read_bytes()
    except FileNotFoundError as exc:
        raise RecordError(
            "there is no record of this image",
            remedy=f'mark it first: radlength mark "{image_path}" --help',
            code="record-missing",
            subject=Path(image_path).name,
        ) from exc
    except (OSError, ValueError) as exc:
        raise RecordError(
            "the record cannot be read", remedy="check the file", code="record-unreadable", subject=path.name
        ) from exc
    record = parse_record(data, name=path.name)
    record._image_path = Path(image_path)
    record._seen_sha256 = hashlib.sha256(data).hexdigest()
    return record


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
        Somebody else has written meanwhile, or the folder does not let itself be written.
    """
    image = image_path if image_path is not None else record._image_path
    if image is None:
        raise RecordError(
            "the record does not know its image file",
            remedy="give the path of the image",
            code="record-homeless",
            subject=record.image.name,
        )
    path = record_path(image, records_dir)
    data = dump_record(record)
    try:
        with _locked(path.parent):
            _refuse_unseen(path, record._seen_sha256)
            _replace(path, data)
    except OSError as exc:
        raise RecordError(
            f"the record cannot be written: {exc.strerror or exc}",
            remedy="free space or rights, or keep records elsewhere with --records DIR",
            code="record-unwritable",
            subject=path.name,
        ) from exc
    record._image_path = Path(image)
    record._seen_sha256 = hashlib.sha256(data).hexdigest()
    return path


def _refuse_unseen(path: Path, seen: str | None) -> None:
    try:
        there = hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return
    if there != seen:
        raise RecordError(
            "the record on disk was changed by somebody else since it was read",
            "nothing was written, nothing is lost",
            "load it again and repeat the change",
            code="record-changed",
            subject=path.name,
        )


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Make the new name durable; Windows has no such call and needs none."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Hold the folder while comparing and replacing, so that two writers take turns.

    The lock is the operating system's and ends with the process, however it ends.
    """
    if sys.platform == "win32":
        import msvcrt

        with (folder / ".radlength.lock").open("a+b") as file:
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
            try:
                yield
            finally:
                file.seek(0)
                msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)
        return
    import fcntl

    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
