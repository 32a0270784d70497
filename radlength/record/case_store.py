"""Cases in their folders: found, read, and replaced whole or not at all, as records are."""

from __future__ import annotations

import os
from pathlib import Path

from radlength.clean import refused, typed
from radlength.errors import RecordError
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_parse import dump_case, event_lines, parse_case
from radlength.record.store import read_file, write_alone


def case_path(folder: str | os.PathLike[str]) -> Path:
    """Return where the case of a folder lies; the file itself may be named too.

    Examples
    --------
    >>> case_path("tooth46").as_posix(), case_path("tooth46/radlength-case.json").as_posix()
    ('tooth46/radlength-case.json', 'tooth46/radlength-case.json')
    """
    given = Path(folder)
    return given if given.name == CASE_NAME else given / CASE_NAME


def load_case(folder: str | os.PathLike[str]) -> Case:
    """Return the case of a folder.

    Raises
    ------
    RecordError
        There is none, or it cannot be trusted.
    """
    path = case_path(folder)
    try:
        data = read_file(path)
    except FileNotFoundError as exc:
        raise RecordError(
            "there is no case in this folder",
            remedy=f"begin one: radlength case new {typed(path.parent)}",
            code="case-missing",
            subject=str(path.parent),
        ) from exc
    except (OSError, ValueError) as exc:
        raise RecordError(
            "the case cannot be read",
            remedy="check the file and the rights to it; it is left untouched",
            code="case-unreadable",
            subject=str(path.parent),
        ) from exc
    case = parse_case(data, name=path.name)
    _remember(case, path, data, lines=_lines_in(data))
    return case


def save_case(case: Case, folder: str | os.PathLike[str] | None = None) -> Path:
    """Write a case into its folder, whole or not at all.

    Parameters
    ----------
    case
        What to write. It remembers what it was read from; bytes it has not seen are never overwritten.
    folder
        By default the one it was read from.

    Raises
    ------
    RecordError
        Somebody else has written meanwhile, events were taken away, or the folder does not let itself be written.
        Then nothing was written.
    """
    home = folder if folder is not None else case._folder
    if home is None:
        raise RecordError(
            "the case does not know its folder",
            remedy="give the folder",
            code="case-homeless",
            subject=CASE_NAME,
        )
    path = case_path(home)
    data = dump_case(case)
    try:
        write_alone(path, data, lambda: _refuse_unseen(path, case))
    except OSError as exc:
        raise RecordError(
            f"the case cannot be written: {refused(exc)}",
            remedy="make the folder, or free space or rights",
            code="case-unwritable",
            subject=str(path.parent),
        ) from exc
    _remember(case, path, data, lines=event_lines(case))
    return path


def _lines_in(data: bytes) -> bytes | None:
    """Return what stands between the brackets of the events, where the file is laid out as ours are."""
    begin, end = data.find(_BEGIN), data.rfind(_END)
    return data[begin + len(_BEGIN) : end] if 0 <= begin < end else None


_BEGIN, _END = b'\n "events": [\n', b"\n ]"
"""No string of JSON holds a line break, so these stand nowhere else."""


def _remember(case: Case, path: Path, data: bytes, *, lines: bytes | None) -> None:
    """Keep what is on disk, and the lines of its events, which are never made again."""
    case._folder, case._seen, case._seen_events = path.parent, data, case.events
    if lines is not None:
        case._lines = (len(case.events), lines)


def _refuse_unseen(path: Path, case: Case) -> None:
    try:
        there = read_file(path)
    except FileNotFoundError:
        return
    if there != case._seen:
        seen = case._seen is not None
        raise RecordError(
            "the case on disk was changed by somebody else since it was read"
            if seen
            else "there is a case on disk that was not read",
            "nothing was written, nothing is lost",
            "load it again and repeat the change",
            code="case-changed",
            subject=str(path.parent),
        )
    if case.events[: len(case._seen_events)] != case._seen_events:
        raise RecordError(
            "the case on disk would lose what is in it",
            "events are only added",
            "load the case again and repeat the change; nothing was written",
            code="case-shortened",
            subject=str(path.parent),
        )
