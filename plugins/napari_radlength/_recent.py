"""The images opened last, kept for this user alone, and only while they want it. Knows no window."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FORMAT, VERSION = "radlength-recent", 1
MOST = 10
LARGEST = 100_000
"""Bytes; what is larger was not written here."""
STATE = "RADLENGTH_STATE"
"""Environment variable that names another folder for the list."""


@dataclass(frozen=True, slots=True)
class Recent:
    """What is kept.

    Parameters
    ----------
    images
        Paths, the last opened first.
    remember
        Whether images are remembered at all.
    """

    images: tuple[Path, ...] = ()
    remember: bool = True


def state_folder() -> Path:
    """Return the folder for what the window keeps for this user."""
    named = os.environ.get(STATE)
    if named:
        return Path(named)
    from qtpy.QtCore import QStandardPaths

    places = QStandardPaths.StandardLocation
    place = getattr(places, "GenericStateLocation", places.GenericDataLocation)
    return Path(QStandardPaths.writableLocation(place)) / "radlength"


def read_recent() -> Recent:
    """Return what is kept; nothing where there is no list, or one that was not written here."""
    try:
        path = _file()
        if path.stat().st_size > LARGEST:
            return Recent()
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return Recent()
    return _recent(data)


def _recent(data: Any) -> Recent:
    if not isinstance(data, dict) or (data.get("format"), data.get("version")) != (FORMAT, VERSION):
        return Recent()
    images, remember = data.get("images"), data.get("remember")
    if not (isinstance(images, list) and all(isinstance(one, str) for one in images)):
        return Recent(remember=remember is not False)
    kept = tuple(map(Path, images[:MOST]))
    return Recent(kept if remember is not False else (), remember is not False)


def remember(path: Path) -> None:
    """Put an image first in the list, where images are remembered."""
    known = read_recent()
    if known.remember:
        here = path.absolute()
        _write(Recent((here, *(one for one in known.images if one != here))[:MOST]))


def clear() -> None:
    """Forget every image."""
    _write(Recent(remember=read_recent().remember))


def set_remember(on: bool) -> None:
    """Remember images from now on, or forget them all and remember none."""
    known = read_recent()
    _write(Recent(known.images if on else (), on))


def _file() -> Path:
    return state_folder() / "recent.json"


def _write(recent: Recent) -> None:
    """Write the list for this user alone; a folder that cannot be written only means that nothing is remembered."""
    path = _file()
    data = {
        "format": FORMAT,
        "version": VERSION,
        "remember": recent.remember,
        "images": [str(one) for one in recent.images],
    }
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with suppress(FileNotFoundError):
            part.unlink()
        made = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(made, "w", encoding="utf-8") as file:
            json.dump(data, file)
        part.replace(path)
