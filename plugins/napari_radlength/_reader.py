"""Readers: an image file, or the record beside one, opens the image; the file of a set opens its exercises."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from napari_radlength._convert import image_layer
from napari_radlength._exercise_file import EXERCISE_KEY, SET_FILE
from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph

_RECORD = ".radlength.json"


def get_reader(path: str | list[str]) -> Callable[[str], list[tuple[Any, ...]]] | None:
    """Return a reader for one radiograph or one set of exercises, ``None`` for anything else."""
    if isinstance(path, list) or not _image_of(path).is_file():
        return None
    if Path(path).name == SET_FILE:
        return _set_reader(Path(path))
    try:
        radiograph = read_radiograph(_image_of(path))
    except RadlengthError:
        return None
    return lambda _path: [image_layer(radiograph)]


def _set_reader(path: Path) -> Callable[[str], list[tuple[Any, ...]]] | None:
    """Return a reader of the set's first image, which tells the dock where the set is."""
    from radlength.exercise import load_set
    from radlength.exercise.files import open_image

    try:
        first = load_set(path).tasks[0]
        grey = open_image(path.parent, first).display()
    except RadlengthError:
        return None
    settings = {"name": "exercises", "colormap": "gray", "metadata": {EXERCISE_KEY: str(path)}}
    return lambda _path: [(grey, settings, "image")]


def _image_of(path: str) -> Path:
    return Path(path.removesuffix(_RECORD))
