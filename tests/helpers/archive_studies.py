"""Images and documents for archives: every call makes another study, so that one archive serves many tests."""

from __future__ import annotations

from itertools import count
from pathlib import Path
from typing import Any

import pydicom
from helpers.archive_images import Marked, marked_image, write_image

from radlength.dicom import write_documents

_SEEDS = count(100)


def next_seed() -> int:
    """Return a seed that no image of this run has."""
    return next(_SEEDS)


def study_of(
    folder: Path, kinds: tuple[str, ...] = ("sr", "pr"), **changes: Any
) -> tuple[Marked, list[Path]]:
    """Return a marked image, and the files of its study: itself and documents made of it."""
    made = marked_image(folder, seed=next_seed(), **changes)
    return made, [made.path, *(one.path for one in write_documents(made.path, kinds))]


def copies_of(folder: Path, number: int) -> list[Path]:
    """Return so many images of one study."""
    first = write_image(folder / "0.dcm", seed=next_seed())
    ds, files = pydicom.dcmread(first), [first]
    root = str(ds.SOPInstanceUID)[:40]
    for which in range(1, number):
        ds.SOPInstanceUID = ds.file_meta.MediaStorageSOPInstanceUID = f"{root}.{which}"
        files.append(folder / f"{which}.dcm")
        ds.save_as(files[-1])
    return files
