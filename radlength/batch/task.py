"""One unit of work: an image and its record, and what came of them. Everything here can be sent to another machine."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from radlength._version import __version__
from radlength.errors import RadlengthError
from radlength.length import ALGORITHM
from radlength.record import record_path

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
    """

    job: str
    root: str
    place: str
    records_root: str | None = None
    known: str | None = None
    image: bytes | None = field(default=None, repr=False)
    record: bytes | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one image.

    Parameters
    ----------
    place
        As in the task.
    key
        Follows from the job, this program and the bytes of image and record.
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


def work(task: Task) -> Outcome:
    """Do one task. What is wrong with an image becomes its row; nothing is raised for it."""
    if task.job == STUDY:
        from radlength.batch.study import study_block

        return study_block(task)
    if task.image is None:
        return _work_on(Path(task.root) / task.place, records_folder(task.records_root, task.place), task)
    with tempfile.TemporaryDirectory(prefix="radlength-") as folder:
        image = Path(folder) / PurePosixPath(task.place).name
        image.write_bytes(task.image)
        if task.record is not None:
            record_path(image).write_bytes(task.record)
        return _work_on(image, None, task)


def _work_on(image: Path, records: Path | None, task: Task) -> Outcome:
    key = key_of(task.job, bytes_of(image), bytes_of(record_path(image, records)))
    if key == task.known:
        return Outcome(task.place, key, fresh=False)
    from radlength.batch.jobs import JOBS

    try:
        rows, files = JOBS[task.job](image, records)
    except RadlengthError as exc:
        return failed(task.place, key, exc.code, str(exc).replace(str(image), task.place))
    except OSError as exc:
        return failed(task.place, "", "os-error", f"{task.place}: {exc.strerror or type(exc).__name__}")
    except MemoryError:
        return failed(task.place, "", "memory", f"{task.place}: it needs more memory than there is")
    except Exception as exc:  # noqa: BLE001 - a fault of this program spoils one image, not the batch
        return failed(
            task.place, "", "unexpected", f"{task.place}: unexpected {type(exc).__name__}; please report it"
        )
    return Outcome(task.place, key, tuple({**row, "image": task.place} for row in rows), files)


def failed(place: str, key: str, code: str, problem: str) -> Outcome:
    """Return the outcome of an image that could not be worked on; without a key it is tried again next time."""
    return Outcome(place, key, ({"image": place, "problem_code": code, "problem": problem},))


def key_of(job: str, image: bytes | None, record: bytes | None) -> str:
    """Return what a result follows from, as one hash: job, program, algorithm, image, record."""
    parts = (
        job,
        __version__,
        ALGORITHM,
        *(hashlib.sha256(data or b"").hexdigest() for data in (image, record)),
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
