"""What is done, one line an image, so that a batch that was killed does not begin again."""

from __future__ import annotations

import contextlib
import json
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any

from radlength.batch.task import Outcome
from radlength.errors import BatchError
from radlength.record.lock import alone


class Journal:
    """An open journal. A line is written when an image is done; a half-written last line counts as none.

    Parameters
    ----------
    path
        The file; made where there is none.

    Raises
    ------
    BatchError
        Another batch has it open.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file = path.open("a", encoding="utf-8", newline="\n")
        if not alone(self._file.fileno()):
            self._file.close()
            raise BatchError(
                "another batch is writing its results there",
                "one batch of a job at a time in a folder",
                "wait for it, or choose another --out",
                code="batch-twice",
                subject=str(path.parent),
            )
        self.done = _read(path)
        if path.read_bytes()[-1:] not in (b"", b"\n"):
            self._file.write("\n")

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, trace: TracebackType | None
    ) -> None:
        with contextlib.suppress(OSError):  # on a full disk the line that did not fit is tried once more
            self._file.close()

    def add(self, outcome: Outcome) -> None:
        """Write one line and hand it to the system; what is in the files is not kept: memory would fill."""
        self.done[outcome.place] = replace(outcome, files=dict.fromkeys(outcome.files, b""))
        line = {
            "place": outcome.place,
            "key": outcome.key,
            "rows": outcome.rows,
            "files": sorted(outcome.files),
        }
        self._file.write(json.dumps(line, allow_nan=False) + "\n")
        self._file.flush()


def _read(path: Path) -> dict[str, Outcome]:
    done: dict[str, Outcome] = {}
    for line in path.read_text(encoding="utf-8", errors="replace").split("\n"):
        outcome = _outcome(line)
        if outcome is not None:
            done[outcome.place] = outcome
    return done


def _outcome(line: str) -> Outcome | None:
    try:
        data: Any = json.loads(line)
        rows = tuple(dict(row) for row in data["rows"])
        return Outcome(str(data["place"]), str(data["key"]), rows, dict.fromkeys(data["files"], b""))
    except (ValueError, KeyError, TypeError):
        return None
