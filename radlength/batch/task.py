"""One unit of work: an image and its record, and what came of them. Everything here can be sent to another machine."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from radlength._version import __version__
from radlength.length import ALGORITHM

Row = dict[str, "str | float | int | None"]
Job = Callable[[Path, "Path | None"], tuple[list[Row], dict[str, bytes]]]
"""From an image and the folder of its record to rows and files by ending."""


STUDY = "validation"
"""Name of the job that takes no image: a block of the validation study."""


@dataclass(frozen=True, slots=True)
class Task:
    """An image to work on.

    Parameters
    ----------
    job
        Name of the job.
    root
        Folder of the tree.
    place
        The image in it, with forward slashes.
    records_root
        Folder of a tree of records of the same shape, for images on read-only media.
    known
        Key of the result that is already there.
    image, record
        Bytes of both files, where the worker cannot see the folder.
    another
        Whether another record, which is not read, lies beside the image there.
    """

    job: str
    root: str
    place: str
    records_root: str | None = None
    known: str | None = None
    image: bytes | None = field(default=None, repr=False)
    record: bytes | None = field(default=None, repr=False)
    another: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one image.

    Parameters
    ----------
    place
        As in the task.
    key
        Follows from the job, this program, the bytes of image and record, and whether there is another record.
    rows
        Lines of the table; one with ``problem`` where the image could not be worked on; none where ``known`` held.
    files
        By ending: what the job makes besides rows.
    fresh
        Whether it was made now; ``False`` where ``known`` held.
    """

    place: str
    key: str
    rows: tuple[Row, ...] = ()
    files: dict[str, bytes] = field(default_factory=dict)
    fresh: bool = True


def failed(place: str, key: str, code: str, problem: str) -> Outcome:
    """Return the outcome of an image that could not be worked on; without a key it is tried again next time."""
    return Outcome(place, key, ({"image": place, "problem_code": code, "problem": problem},))


def key_of(job: str, image: bytes | None, record: bytes | None, *, another: bool = False) -> str:
    """Return what a result follows from, as one hash: job, program, algorithm, image, record, another record."""
    parts = (
        job,
        __version__,
        ALGORITHM,
        *(hashlib.sha256(data or b"").hexdigest() for data in (image, record)),
        *(("another record",) if another else ()),
    )
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def records_folder(records_root: Path | str | None, place: str) -> Path | None:
    """Return the folder of an image's record in a tree of records; ``None`` without one: beside the image."""
    return None if records_root is None else Path(records_root) / PurePosixPath(place).parent


def bytes_of(path: Path) -> bytes | None:
    """Return the bytes of a file, ``None`` where it cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None
