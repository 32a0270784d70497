"""What may stand on a disk after the power goes: a log of system calls replayed with what was not yet flushed dropped.

A file's bytes are safe once the file was flushed, a name once its folder was flushed. Whatever is not safe may be
there or not, in any combination: a name new or old, bytes whole, half or none. That is harsher than any file system
in use, which keeps at least some order.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

_LINE = re.compile(r"^(?:\d+ +)?(\w+)\((.*)\) += (-?\d+)(<.*>)?")
_HANDLE = re.compile(r"^(\d+)<(.*)>$", re.DOTALL)


@dataclass
class _File:
    data: bytes = b""
    safe: bytes = b""


@dataclass
class _Disk:
    """Names as they stand, names as they are safe, and the changes between, in order."""

    names: dict[str, _File] = field(default_factory=dict)
    safe: dict[str, _File] = field(default_factory=dict)
    pending: list[tuple[str, _File | None]] = field(default_factory=list)


def steps(log: str, folder: Path) -> list[tuple[str, ...]]:
    """Return the steps of a log of strace -y -xx that change files of a folder."""
    found = []
    for line in log.splitlines():
        match = _LINE.match(line)
        if match is None or match[3].startswith("-"):
            continue
        step = _step(match[1], match[2].split(", "), match[4] or "")
        if step is not None and all(
            Path(path).parent == folder or Path(path) == folder for path in _paths(step)
        ):
            found.append(step)
    return found


def _paths(step: tuple[str, ...]) -> tuple[str, ...]:
    return step[1:2] if step[0] == "write" else step[1:]


def _step(call: str, words: list[str], result: str) -> tuple[str, ...] | None:
    if call == "openat" and "O_CREAT" in words[2]:
        return ("create" if "O_EXCL" in words[2] or "O_TRUNC" in words[2] else "open", _text(result[1:-1]))
    if call == "write":
        return ("write", _handle(words[0]), _text(words[1]))
    if call in ("fsync", "fdatasync"):
        return ("flush", _handle(words[0]))
    if call in ("rename", "renameat2", "renameat"):
        strings = [_text(word) for word in words if word.startswith('"')]
        return ("rename", *strings)
    if call in ("unlink", "unlinkat"):
        return ("unlink", next(_text(word) for word in words if word.startswith('"')))
    return None


def _handle(word: str) -> str:
    match = _HANDLE.match(word)
    return _text(match[2]) if match else ""


def _text(word: str) -> str:
    """Return the text of a string that strace wrote as hexadecimal bytes, one character a byte."""
    return bytes.fromhex(word.strip('"<>').replace("\\x", "")).decode("latin-1")


def disks_after_loss(done: Sequence[tuple[str, ...]], before: dict[str, bytes]) -> Iterator[dict[str, bytes]]:
    """Return every content of the folder that the power may leave after the steps `done`.

    Parameters
    ----------
    done
        Steps that the program has made.
    before
        Files that were safe at the beginning.
    """
    disk = _Disk()
    for name, data in before.items():
        disk.names[name] = disk.safe[name] = _File(data, data)
    for step in done:
        _apply(disk, step)
    for kept in product((False, True), repeat=len(disk.pending)):
        names = dict(disk.safe)
        for keep, (name, file) in zip(kept, disk.pending, strict=True):
            if keep and file is None:
                names.pop(name, None)
            elif keep and file is not None:
                names[name] = file
        files = list({id(file): file for file in names.values()}.values())
        for contents in product(*(_contents(file) for file in files)):
            left = dict(zip(map(id, files), contents, strict=True))
            yield {name: left[id(file)] for name, file in names.items()}


def _contents(file: _File) -> tuple[bytes, ...]:
    """Return what may be left of a file: everything if it was flushed, else also half and nothing of the rest."""
    if file.data == file.safe:
        return (file.data,)
    rest = file.data[len(file.safe) :]
    return tuple(dict.fromkeys((file.safe, file.safe + rest[: len(rest) // 2], file.data)))


def _apply(disk: _Disk, step: tuple[str, ...]) -> None:
    kind, path = step[0], step[1]
    if kind == "create":
        disk.names[path] = _File()
        disk.pending.append((path, disk.names[path]))
    elif kind == "write" and path in disk.names:
        disk.names[path].data += step[2].encode("latin-1")
    elif kind == "flush" and path in disk.names:
        disk.names[path].safe = disk.names[path].data
    elif kind == "flush":
        disk.safe, disk.pending = dict(disk.names), []
    elif kind == "rename":
        disk.names[step[2]] = disk.names.pop(path)
        disk.pending += [(step[2], disk.names[step[2]]), (path, None)]
    elif kind == "unlink":
        disk.names.pop(path, None)
        disk.pending.append((path, None))
