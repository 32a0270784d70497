"""The images of a tree, without leaving it."""

from __future__ import annotations

import os
from pathlib import Path

from radlength.errors import BatchError
from radlength.record.quality_table import SUFFIXES

MADE_BY_US = ".radlength-"
"""In the name of a document that was made of an image."""


def images_below(folder: str | os.PathLike[str], unread: list[str] | None = None) -> tuple[str, ...]:
    """Return the image files of a tree as paths relative to it, with forward slashes, sorted.

    Hidden files and folders are left out, documents that were made of images, what is no file (a pipe would be waited
    for without an end), and every link: what lies outside the tree is not read.

    Parameters
    ----------
    folder
        The tree.
    unread
        Takes the folders that may not be read, as relative paths.

    Raises
    ------
    BatchError
        There is no such folder, or no image in it.
    """
    root = Path(folder)
    if not root.is_dir():
        wrong = "it is a file, not a folder" if root.exists() else "there is no such folder"
        raise BatchError(wrong, "a folder of images", code="batch-folder", subject=str(folder))

    def closed(exc: OSError) -> None:
        if unread is not None:
            unread.append(Path(exc.filename).relative_to(root).as_posix())

    found = sorted(
        (Path(where) / name).relative_to(root).as_posix()
        for where, folders, names in os.walk(root, onerror=closed)
        for name in _own(where, folders, names)
    )
    if not found and not unread:
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
        and (here / name).is_file()
    ]
