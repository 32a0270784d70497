"""The images of a tree, without leaving it."""

from __future__ import annotations

import os
from pathlib import Path

from radlength.errors import BatchError
from radlength.record.quality_table import SUFFIXES

MADE_BY_US = ".radlength-"
"""In the name of a document that was made of an image."""


def images_below(folder: str | os.PathLike[str]) -> tuple[str, ...]:
    """Return the image files of a tree as paths relative to it, with forward slashes, sorted.

    Hidden files and folders are left out, documents that were made of images, and every link: what lies outside the
    tree is not read.

    Raises
    ------
    BatchError
        There is no such folder, or no image in it.
    """
    root = Path(folder)
    if not root.is_dir():
        raise BatchError(
            "there is no such folder", "a folder of images", code="batch-folder", subject=str(folder)
        )
    found = sorted(
        (Path(where) / name).relative_to(root).as_posix()
        for where, folders, names in os.walk(root)
        for name in _own(where, folders, names)
    )
    if not found:
        raise BatchError(
            "the folder holds no image", ", ".join(sorted(SUFFIXES)), code="batch-empty", subject=str(folder)
        )
    return tuple(found)


def _own(where: str, folders: list[str], names: list[str]) -> list[str]:
    """Return the images of one folder; keeps the walk out of hidden and linked folders."""
    here = Path(where)
    folders[:] = [name for name in folders if not name.startswith(".") and not (here / name).is_symlink()]
    return [
        name
        for name in names
        if Path(name).suffix.lower() in SUFFIXES
        and not name.startswith(".")
        and MADE_BY_US not in name
        and not (here / name).is_symlink()
    ]
