"""Doing one unit of work, in this process: what is wrong with an image becomes its row."""

from __future__ import annotations

import tempfile
from pathlib import Path, PurePosixPath

from radlength.batch.task import STUDY, Outcome, Task, bytes_of, failed, key_of, records_folder
from radlength.errors import RadlengthError
from radlength.record import record_path
from radlength.record.store import another_beside


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
        records = None
        if task.another:  # told by what lies there, whatever it holds
            record_path(image).write_bytes(b"another")
            records = Path(folder) / "records"
            records.mkdir()
        if task.record is not None:
            record_path(image, records).write_bytes(task.record)
        return _work_on(image, records, task)


def _work_on(image: Path, records: Path | None, task: Task) -> Outcome:
    path = record_path(image, records)
    record = bytes_of(path)
    another = another_beside(image, path, record or b"")
    key = key_of(task.job, bytes_of(image), record, another=another)
    if key == task.known:
        return Outcome(task.place, key, fresh=False)
    from radlength.batch.jobs import JOBS

    try:
        rows, files = JOBS[task.job](image, records)
    except RadlengthError as exc:
        return failed(task.place, key, exc.code, _placed(str(exc), image, task.place))
    except OSError as exc:
        return failed(task.place, "", "os-error", f"{task.place}: {exc.strerror or type(exc).__name__}")
    except MemoryError:
        return failed(task.place, "", "memory", f"{task.place}: it needs more memory than there is")
    except Exception as exc:  # noqa: BLE001 - a fault of this program spoils one image, not the batch
        return failed(
            task.place, "", "unexpected", f"{task.place}: unexpected {type(exc).__name__}; please report it"
        )
    return Outcome(task.place, key, tuple({**row, "image": task.place} for row in rows), files)


def _placed(words: str, image: Path, place: str) -> str:
    """Return what is wrong with the image's place in the tree in it: many a tree holds a hundred files of one name."""
    words = words.replace(str(image), place)
    return place + words.removeprefix(image.name) if words.startswith(image.name) else words
