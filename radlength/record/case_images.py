"""Images of a case: added by their file, found again by their hash."""

from __future__ import annotations

import hashlib
import os
from datetime import date, datetime
from pathlib import Path, PurePosixPath
from typing import get_args

from radlength.clean import refused
from radlength.errors import RecordError
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import ImageAdded, Shift, Stage, ViewPair
from radlength.record.made import shown
from radlength.record.store import record_path

STAGES: tuple[str, ...] = get_args(Stage)


def add_image(
    case: Case,
    folder: str | os.PathLike[str],
    image: str | os.PathLike[str],
    *,
    stage: str,
    taken: date,
    view: str = "straight",
    label: str = "",
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with an image, bound by the hash of its file and of its record.

    Parameters
    ----------
    case, folder
        The case and where it lies. The image lies in that folder or below it.
    image
        Path of the image; a relative one counts from the folder. A file added before is added again: the new entry
        replaces the old one.
    stage
        What it was taken for, one of `STAGES`; ``"other"`` needs a label.
    taken
        The day it was taken.
    view
        In words: ``"straight"``, ``"tube 20 degrees mesial"``.
    who, when
        Who enters it, and the time of the entry.

    Raises
    ------
    RecordError
        No stage, no such file, or one outside the folder.
    """
    if stage not in STAGES:
        raise RecordError(
            f"the stage of the image is {shown(stage)!r}"
            if stage
            else "the stage of the image is not stated",
            f"one of: {', '.join(STAGES)} (with a label)",
            code="case-stage",
            subject=Path(image).name,
        )
    home = Path(folder)
    path = Path(image) if Path(image).is_absolute() else home / image
    relative = _inside(home, path)
    marks = record_path(path)
    has_marks = marks.is_file()
    before = next((event for event in case.images if event.path == relative), None)
    return case.with_event(
        ImageAdded,
        when=when,
        who=who,
        path=relative,
        file_sha256=file_sha256(path),
        record_path=_inside(home, marks) if has_marks else None,
        record_sha256=file_sha256(marks) if has_marks else None,
        stage=stage,
        label=label,
        taken=taken,
        view=view,
        replaces=before.number if before else None,
    )


def add_views(
    case: Case,
    straight: int,
    shifted: int,
    *,
    shift: Shift,
    angle_deg: float | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with two of its images as a pair: where the tube went for the second, and how far."""
    pair = {"straight": straight, "shifted": shifted, "shift": shift, "angle_deg": angle_deg}
    return case.with_event(ViewPair, when=when, who=who, **pair)


def _inside(home: Path, path: Path) -> str:
    try:
        return PurePosixPath(path.resolve().relative_to(home.resolve())).as_posix()
    except ValueError as exc:
        raise RecordError(
            "the image does not lie in the folder of the case",
            "a file in it or below it",
            "move it there, or keep the case above it",
            code="case-outside",
            subject=path.name,
        ) from exc


def file_sha256(path: Path) -> str:
    """Return the hash of the bytes of a file.

    Raises
    ------
    RecordError
        It cannot be read.
    """
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as exc:
        raise RecordError(
            f"the file cannot be read: {refused(exc)}",
            remedy="check its name and the rights to it",
            code="case-file",
            subject=path.name or CASE_NAME,
        ) from exc
