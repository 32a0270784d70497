"""The images of a tree, without leaving it."""

from __future__ import annotations

import os
from pathlib import Path

from radlength.errors import BatchError
from radlength.record.quality_table import SUFFIXES

MADE_BY_US = ".radlength-"
"""In the name of a document that was made of an image."""


def images_below(
    folder: str | os.PathLike[str], unread: list[str] | None = None, linked: list[str] | None = None
) -> tuple[str, ...]:
    """Return the image files of a tree as paths relative to it, with forward slashes, sorted.

    Hidden files and folders are left out, documents that were made of images, what is no file (a pipe would be waited
    for without an end), and every link: what lies outside the tree is not read.

    Parameters
    ----------
    folder
        The tree.
    unread
        Takes the folders that may not be read, as relative paths.
    linked
        Takes the links to folders, with a slash at the end, and those that are called like an image.

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

    found: list[str] = []
    for where, folders, names in os.walk(root, onerror=closed):
        here = Path(where)
        inside = here.relative_to(root)
        if linked is not None:
            linked.extend(
                (inside / one).as_posix() for one in names if _is_image(one) and (here / one).is_symlink()
            )
            linked.extend(f"{(inside / one).as_posix()}/" for one in folders if _is_linked(here / one))
        found.extend((inside / name).as_posix() for name in _own(here, folders, names))
    if not (found or unread or linked):
        raise BatchError(
            "the folder holds no image", ", ".join(sorted(SUFFIXES)), code="batch-empty", subject=str(folder)
        )
    return tuple(sorted(found))


def _own(here: Path, folders: list[str], names: list[str]) -> list[str]:
    """Return the images of one folder; keeps the walk out of hidden and linked folders."""
    folders[:] = [name for name in folders if not name.startswith(".") and not (here / name).is_symlink()]
    return [
        name
        for name in names
        if _is_image(name) and not (here / name).is_symlink() and (here / name).is_file()
    ]


def _is_image(name: str) -> bool:
    """Tell whether a file is called like an image of the tree."""
    return Path(name).suffix.lower() in SUFFIXES and not name.startswith(".") and MADE_BY_US not in name


def _is_linked(folder: Path) -> bool:
    return not folder.name.startswith(".") and folder.is_symlink()
