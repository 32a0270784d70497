"""Several images: those of a folder in order of time, each with a plain label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

SUFFIXES = (".dcm", ".dicom", ".png", ".jpg", ".jpeg", ".tif", ".tiff")


@dataclass(frozen=True, slots=True)
class Shot:
    """One image of a row.

    Parameters
    ----------
    path
        The file.
    day
        Day of the exposure as the file states it, else of the file itself, ``YYYY-MM-DD``.
    stated
        Whether the file, or the case, states it.
    stage
        What it was taken for, in words; empty without a case.
    """

    path: Path
    day: str
    stated: bool
    stage: str = ""

    @property
    def label(self) -> str:
        """Day, stage and name."""
        parts = f"{self.day}{'' if self.stated else ' (file)'}", self.stage, self.path.stem
        return "  ".join(part for part in parts if part)


def shots_in(paths: Iterable[Path]) -> tuple[Shot, ...]:
    """Return images in order of time, then of name; a folder stands for the images in it.

    Parameters
    ----------
    paths
        Files and folders.
    """
    files = [
        file
        for path in paths
        for file in (sorted(path.iterdir()) if path.is_dir() else [path])
        if file.suffix.lower() in SUFFIXES and file.is_file()
    ]
    return tuple(sorted(map(_shot, dict.fromkeys(files)), key=lambda shot: (shot.day, shot.path.name)))


def _shot(path: Path) -> Shot:
    stated = _stated_day(path) if path.suffix.lower() in (".dcm", ".dicom") else None
    if stated is not None:
        return Shot(path, stated, stated=True)
    when = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    return Shot(path, when.date().isoformat(), stated=False)


def _stated_day(path: Path) -> str | None:
    import pydicom
    from pydicom.errors import InvalidDicomError

    names = ("AcquisitionDate", "ContentDate", "StudyDate")
    try:
        header = pydicom.dcmread(path, stop_before_pixels=True, specific_tags=list(names))
    except (InvalidDicomError, OSError):
        return None
    for name in names:
        text = str(header.get(name, "") or "")
        if len(text) == 8 and text.isdigit():
            return f"{text[:4]}-{text[4:6]}-{text[6:]}"
    return None
