"""A file that is put in place whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import time
from pathlib import Path

PATIENCE_S = 1.0
"""How long a name is waited for that another program on Windows has open, in seconds."""
HELD = (5, 32)
"""What Windows calls it: access denied, sharing violation (its system error codes; from memory)."""


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
        give_name(part, place)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise


def is_empty(place: Path) -> bool:
    """Tell whether a file is there with nothing in it, as a loss of power may leave one: it counts as none."""
    return place.is_file() and place.stat().st_size == 0


def give_name(part: Path, place: Path) -> None:
    """Give a file its name; on Windows wait a moment for whoever looks into the old one, as a virus scanner does.

    Raises
    ------
    OSError
        It cannot have the name, or the old file stays open.
    """
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            part.replace(place)
        except PermissionError as exc:
            if getattr(exc, "winerror", None) not in HELD or time.monotonic() >= until:
                raise
            time.sleep(0.02)
        else:
            return
