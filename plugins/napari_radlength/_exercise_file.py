"""How a set of exercises is known by its file, without loading the room of exercises."""

from __future__ import annotations

from pathlib import Path

SET_FILE = "set.json"
EXERCISE_KEY = "radlength_exercise"
"""Metadata key under which a layer carries the set that was dropped on the window."""


def is_set(path: Path) -> bool:
    """Tell whether a path is a folder of exercises, or the file of one."""
    return path.name == SET_FILE if path.is_file() else (path / SET_FILE).is_file()
