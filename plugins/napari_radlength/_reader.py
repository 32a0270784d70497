"""Readers: an image file, or the record beside one, opens the image."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from napari_radlength._convert import image_layer
from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph

_RECORD = ".radlength.json"


def get_reader(path: str | list[str]) -> Callable[[str], list[tuple[Any, ...]]] | None:
    """Return a reader for one radiograph, ``None`` for anything else."""
    if isinstance(path, list) or not _image_of(path).is_file():
        return None
    try:
        radiograph = read_radiograph(_image_of(path))
    except RadlengthError:
        return None
    return lambda _path: [image_layer(radiograph)]


def _image_of(path: str) -> Path:
    return Path(path.removesuffix(_RECORD))
