"""A batch from beginning to end: find, resume, do, keep, write."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from radlength.batch.find import images_below
from radlength.batch.jobs import JOBS
from radlength.batch.journal import Journal
from radlength.batch.local import on_processes
from radlength.batch.table import batch_csv, batch_json
from radlength.batch.task import Outcome, Row, Task, bytes_of, records_folder
from radlength.clean import refused
from radlength.errors import BatchError
from radlength.record import record_path
from radlength.record.store import another_beside
from radlength.whole_file import put_whole

Runner = Callable[[Iterable[Task]], Iterator[Outcome]]


@dataclass(frozen=True, slots=True)
class Batch:
    """A finished batch.

    Parameters
    ----------
    job
        Its name.
    rows
        Lines of the table, sorted by image, in the order of the job within one.
    images, failed, resumed
        How many images there were, could not be worked on, and were done already.
    """

    job: str
    rows: tuple[Row, ...]
    images: int
    failed: int
    resumed: int


def run_batch(
    root: Path,
    job: str,
    out: Path,
    *,
    runner: Runner | None = None,
    records_root: Path | None = None,
    send_images: bool = False,
    tell: Callable[[int, int], None] | None = None,
) -> Batch:
    """Do a job on every image of a tree and write the tables.

    Parameters
    ----------
    root
        The tree of images.
    job
        A name of :data:`~radlength.batch.JOBS`.
    out
        Folder for tables, files, and the journal that lets a killed batch go on. Not inside the tree's images.
    runner
        From tasks to outcomes; one local process by default.
    records_root
        A tree of records of the same shape.
    send_images
        Whether bytes are sent, for workers that cannot see the folder.
    tell
        Called with images done and images in all.

    Returns
    -------
    Batch
        One bad image is one row, and so is a link: it is not followed.

    Raises
    ------
    BatchError
        No such job, no image, or a folder that cannot be written.
    """
    if job not in JOBS:
        raise BatchError(f"no job {job!r}", ", ".join(JOBS), code="batch-job", subject=job)
    if job == "dicom" and send_images:
        raise BatchError(
            "documents are written beside the records, and bytes have no place",
            "workers that see the folder",
            "leave out --send-images",
            code="batch-dicom-sent",
        )
    if records_root is not None and not records_root.is_dir():
        raise BatchError(
            "there is no such folder of records",
            "a tree of records of the same shape",
            "check --records",
            code="batch-records",
            subject=str(records_root),
        )
    unread: list[str] = []
    linked: list[str] = []
    places = images_below(root, unread, linked)
    root = root.absolute()  # a worker of a cluster begins in a folder of its own
    records_root = None if records_root is None else records_root.absolute()
    _make(out)
    done: dict[str, tuple[Row, ...]] = {}
    resumed = 0
    with written(out):
        journal = Journal(out / f".radlength-batch-{job}.jsonl")
    with journal:
        before = dict(journal.done)
        tasks = (
            _task(job, root, place, records_root, before.get(place), out, send_images) for place in places
        )
        for outcome in (runner or _here)(tasks):
            if outcome.fresh:
                new = _with_old_files(out, before.get(outcome.place), outcome)
                with written(out):
                    _keep_files(out, new)
                    journal.add(new)
                done[outcome.place] = new.rows
            else:
                done[outcome.place] = before[outcome.place].rows
                resumed += 1
            if tell is not None:
                tell(len(done), len(places))
    rows = (
        *(row for place in places for row in done[place]),
        *map(_closed, sorted(unread)),
        *map(_linked, sorted(linked)),
    )
    with written(out):
        put_whole(out / f"radlength-batch-{job}.csv", batch_csv(rows).encode("utf-8-sig"))
        put_whole(out / f"radlength-batch-{job}.json", batch_json(rows, job).encode())
    return Batch(job, rows, len(places), sum("problem" in row for row in rows), resumed)


@contextmanager
def written(out: Path) -> Iterator[None]:
    """Say where results could not be written, and that what was written stays.

    Raises
    ------
    BatchError
        Something in the block could not be written.
    """
    try:
        yield
    except OSError as exc:
        raise BatchError(
            f"the results cannot be written: {refused(exc)}",
            remedy="make room or rights, or choose another --out; started again, what is done is not done again",
            code="batch-unwritable",
            subject=str(exc.filename or out),
        ) from exc


def _here(tasks: Iterable[Task]) -> Iterator[Outcome]:
    return on_processes(tasks, 1)


def _task(
    job: str, root: Path, place: str, records: Path | None, before: Outcome | None, out: Path, send: bool
) -> Task:
    there = before is not None and _files_there(out, before) and _documents_there(job, root, records, before)
    known = before.key if before is not None and there else None
    task = Task(job, str(root), place, None if records is None else str(records), known)
    if not send:
        return task
    image = root / place
    path = record_path(image, records_folder(records, place))
    record = bytes_of(path)
    another = another_beside(image, path, record or b"")
    return Task(job, "", place, None, known, bytes_of(image) or b"", record, another)


def _files_there(out: Path, outcome: Outcome) -> bool:
    return all(_is_there(_file(out, outcome.place, ending)) for ending in outcome.files)


def _documents_there(job: str, root: Path, records: Path | None, outcome: Outcome) -> bool:
    """Return whether what a job wrote beside the records is still there."""
    if job != "dicom":
        return True
    home = record_path(root / outcome.place, records_folder(records, outcome.place)).parent
    return all(_is_there(home / str(row["file"])) for row in outcome.rows if "file" in row)


def _is_there(path: Path) -> bool:
    """Tell whether a file is seen, and not empty as a loss of power may leave it; else it is made again.

    In a folder that nobody may look into there is none.
    """
    try:
        return path.is_file() and path.stat().st_size > 0
    except OSError:
        return False


def _closed(folder: str) -> Row:
    """Return the line of a folder whose images nobody could see."""
    words = f"{folder}: the folder may not be read; its images are not in this table"
    return {"image": f"{folder}/", "problem_code": "folder-unread", "problem": words}


def _linked(place: str) -> Row:
    """Return the line of a link: what lies outside the tree is not read, and not left out in silence."""
    whose = "its images are" if place.endswith("/") else "its image is"
    words = f"{place}: a link is not followed; {whose} not in this table"
    return {"image": place, "problem_code": "link", "problem": words}


def _with_old_files(out: Path, before: Outcome | None, outcome: Outcome) -> Outcome:
    """Say beside a problem which files of an earlier run are still there: they show what was, not what is."""
    if before is None or outcome.files or not outcome.rows or "problem" not in outcome.rows[0]:
        return outcome
    old = [
        f"{outcome.place}{ending}" for ending in before.files if _is_there(_file(out, outcome.place, ending))
    ]
    if not old:
        return outcome
    row = outcome.rows[0]
    words = f"{row['problem']}; of an earlier run, and no more true, there is still: {', '.join(old)}"
    return replace(outcome, rows=({**row, "problem": words},))


def _keep_files(out: Path, outcome: Outcome) -> None:
    for ending, data in outcome.files.items():
        place = _file(out, outcome.place, ending)
        _make(place.parent)
        put_whole(place, data)


def _file(out: Path, place: str, ending: str) -> Path:
    return out / f"{place}{ending}"


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        there = isinstance(exc, FileExistsError | NotADirectoryError)
        why = "a file is in its place" if there else exc.strerror or exc
        raise BatchError(
            f"the folder for results cannot be made: {why}",
            remedy="choose another --out",
            code="batch-out",
            subject=str(folder),
        ) from exc
