"""Readers: an image file, or the record beside one, opens the image; a case, a folder or a set what is in it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from napari_radlength._case_book import opened
from napari_radlength._convert import CASE_KEY, image_layer
from napari_radlength._exercise_file import EXERCISE_KEY, SET_FILE, is_set
from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph
from radlength.record.case import CASE_NAME

_RECORD = ".radlength.json"


def get_reader(path: str | list[str]) -> Callable[[str], list[tuple[Any, ...]]] | None:
    """Return a reader for one radiograph, a case, a folder or one set of exercises, ``None`` for anything else."""
    if not isinstance(path, list) and (Path(path).name == CASE_NAME or Path(path).is_dir()):
        given = Path(path)
        return _set_reader(given / SET_FILE) if given.is_dir() and is_set(given) else _first_of(given)
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


def _first_of(path: Path) -> Callable[[str], list[tuple[Any, ...]]] | None:
    """Return a reader of the first image of a case or of a folder, which tells the dock where the others are."""
    try:
        _, shots = opened([path])
        radiograph = read_radiograph(shots[0].path) if shots else None
    except RadlengthError:
        return None
    if radiograph is None:
        return None
    data, settings, kind = image_layer(radiograph)
    settings["metadata"][CASE_KEY] = path
    return lambda _path: [(data, settings, kind)]


def _image_of(path: str) -> Path:
    return Path(path.removesuffix(_RECORD))
