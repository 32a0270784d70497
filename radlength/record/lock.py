"""One writer of a folder at a time. The lock is the operating system's: it ends with the process, however it ends."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from radlength.errors import RecordError

PATIENCE_S = 10.0
"""How long a writer waits for another, in seconds. A record is written in milliseconds."""
LOCK_FILE = ".radlength.lock"
"""Windows cannot lock a folder: an empty file in it is locked instead, and stays."""
BEYOND = 1 << 30
"""Where Windows locks a byte of a file that others may read: behind all that is in it."""

_BUSY = (errno.EAGAIN, errno.EACCES, errno.EDEADLK)
_NO_LOCKS = (errno.EBADF, errno.EINVAL, errno.ENOLCK, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS)


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[bool]:
    """Hold a folder while comparing and replacing, so that two writers take turns.

    Yields
    ------
    bool
        Whether the lock is held; false on a file system that knows none, where only the comparison protects.

    Raises
    ------
    RecordError
        Another program has held it for too long.
    OSError
        The folder cannot be opened.
    """
    if sys.platform == "win32":
        with (folder / LOCK_FILE).open("a+b") as file:
            alone = _take(file.fileno(), folder)
            try:
                yield alone
            finally:
                _give_back(file.fileno(), alone=alone)
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        yield _take(descriptor, folder)
    finally:
        os.close(descriptor)


def alone(descriptor: int) -> bool:
    """Take the lock of an open file if nobody holds it; it ends with the file or the process.

    Returns
    -------
    bool
        False where another holds it. True also on a file system that knows no locks.
    """
    try:
        _try(descriptor, BEYOND)
    except OSError as exc:
        if exc.errno in _NO_LOCKS:
            return True
        if exc.errno in _BUSY:
            return False
        raise
    return True


def _take(descriptor: int, folder: Path) -> bool:
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            _try(descriptor)
        except OSError as exc:
            if exc.errno in _NO_LOCKS:
                return False
            if exc.errno not in _BUSY:
                raise
            if time.monotonic() >= deadline:
                raise RecordError(
                    f"another program has been writing in this folder for {PATIENCE_S:g} s",
                    remedy="try again, nothing was written",
                    code="record-locked",
                    subject=folder.name or str(folder),
                ) from exc
            time.sleep(0.01)
        else:
            return True


def _try(descriptor: int, place: int = 0) -> None:
    """Take the lock or raise at once; at the latest the end of the process gives it back."""
    if sys.platform == "win32":
        import msvcrt

        os.lseek(descriptor, place, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _give_back(descriptor: int, *, alone: bool) -> None:
    """Give the lock of Windows back now: after closing it would come some time later."""
    if sys.platform == "win32" and alone:
        import msvcrt

        os.lseek(descriptor, 0, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)
