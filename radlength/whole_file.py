"""A file that is put in place whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path


def put_whole(place: Path, data: bytes, *, flush: bool = False, private: bool = False) -> None:
    """Write a file beside its place, then give it its name: nobody sees half of it, and a failure changes nothing.

    Parameters
    ----------
    place
        The file; replaced where there is one, and so is a link. Something else that can be written to, as a pipe, is
        written directly.
    data
        All that it holds.
    flush
        Wait until the disk has it, so that it outlasts a loss of power.
    private
        Only its owner may read it.

    Raises
    ------
    OSError
        It cannot be written.
    """
    if place.exists() and not place.is_file():
        place.write_bytes(data)
        return
    # A name as long as may be leaves no room for more letters.
    key = hashlib.sha256(os.fsencode(place.name)).hexdigest()[:16]
    part = place.with_name(f".radlength-{key}-{os.getpid()}.part")
    try:
        part.unlink(missing_ok=True)
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(part, flags, 0o600 if private else 0o666), "wb") as file:
            file.write(data)
            file.flush()
            if flush:
                os.fsync(file.fileno())
        part.replace(place)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise
