"""Whether the files of a case are what it was made with: images, records, and the results that its lengths were."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.record.case import Case
from radlength.record.case_images import file_sha256
from radlength.record.case_models import FoundInRecord, ImageAdded, LengthAdded, ReferencePoint
from radlength.record.models import StoredConfirmation, StoredEstimate
from radlength.record.record import Record
from radlength.record.store import load_record

AGREE_MM = 1e-9


def case_file_findings(case: Case, folder: str | os.PathLike[str]) -> tuple[Finding, ...]:
    """Return what is wrong with the files of a case: moved, edited, or another number than was taken.

    Parameters
    ----------
    case, folder
        The case and where it lies.
    """
    home = Path(folder)
    return (
        *(finding for image in case.images for finding in _image(home, image)),
        *(finding for length in case.of_kind(LengthAdded) for finding in _length(case, home, length)),
    )


def _image(home: Path, image: ImageAdded) -> Iterator[Finding]:
    path = home / image.path
    if any(_outside(home, one) for one in (image.path, image.record_path) if one):
        yield Finding(
            "case-image-outside",
            f"{image.path} or its record is a link out of the folder of the case.",
            "Put the file itself there: a case that was received must not show files of somebody else.",
            "serious",
            image.path,
        )
        return
    if not path.is_file():
        yield _lost(home, image)
        return
    if file_sha256(path) != image.file_sha256:
        yield Finding(
            "case-image-edited",
            f"{image.path} was edited or replaced since it was added: its hash differs.",
            "Find the image it was, or look at it and add it again.",
            "serious",
            image.path,
        )
    if image.record_path is None:
        return
    marks = home / image.record_path
    if not marks.is_file():
        yield Finding(
            "case-record-missing",
            f"{image.record_path} is not there any more.",
            "Bring it back; the lengths taken from it cannot be checked.",
            "serious",
            image.path,
        )
    elif file_sha256(marks) != image.record_sha256:
        yield Finding(
            "case-record-changed",
            f"{image.record_path} was changed since the image was added.",
            "Look at the marks, then add the image again.",
            "question",
            image.path,
        )


def _outside(home: Path, path: str) -> bool:
    """Tell whether a link leads out of the folder, or in a circle."""
    try:
        return not (home / path).resolve().is_relative_to(home.resolve())
    except (OSError, RuntimeError):  # a circle of links, told in two ways
        return True


def _lost(home: Path, image: ImageAdded) -> Finding:
    found = next(_with_hash(home, image.file_sha256), None)
    if found is None:
        return Finding(
            "case-image-missing",
            f"{image.path} is not there any more.",
            "Bring it back into the folder of the case.",
            "serious",
            image.path,
        )
    place = found.relative_to(home).as_posix()
    return Finding(
        "case-image-moved",
        f"{image.path} is not there any more; the same image is now {place}.",
        "Move it back, its record with it.",
        "serious",
        image.path,
    )


def _with_hash(home: Path, sha256: str) -> Iterator[Path]:
    for path in sorted(home.rglob("*")):
        if not path.is_file() or path.name.startswith(".") or path.is_symlink():
            continue
        if file_sha256(path) == sha256:
            yield path


def _length(case: Case, home: Path, length: LengthAdded) -> Iterator[Finding]:
    if length.found is None:
        return
    image = case.event(length.found.image, ImageAdded)
    try:
        record = load_record(home / image.path)
    except RecordError:
        return
    yield from _other_words(case, record, length)
    kept = _kept(record, length.found)
    lengths = [one.working_length if length.short_mm else one.canal_length for one in kept]
    values = [one.value_mm for one in lengths if one is not None]
    if not values:
        yield Finding(
            "case-result-gone",
            f"Length {length.number} is no result that the record of {image.path} keeps.",
            "Bring the record back as it was, or correct the length.",
            "serious",
            length.canal,
        )
    elif all(abs(value - length.length.value_mm) > AGREE_MM for value in values):
        yield Finding(
            "case-result-differs",
            f"Length {length.number} is {length.length.value_mm:.2f} mm, the record of {image.path} keeps "
            f"{values[-1]:.2f} mm.",
            "One of the files was edited by hand: find out which.",
            "serious",
            length.canal,
        )


def _other_words(case: Case, record: Record, length: LengthAdded) -> Iterator[Finding]:
    """Yield a doubt where the record names another reference point than the series the length was put into."""
    found = length.found
    entry = next((one for one in record.canals if found and one.id == found.canal), None)
    words = case.event(length.series, ReferencePoint).words
    if entry is None or not entry.canal.reference_point.strip():
        return
    if entry.canal.reference_point.strip().casefold() != words.strip().casefold():
        yield Finding(
            "case-reference-point-differs",
            f"Length {length.number} counts from {words!r}, the record of its image from "
            f"{entry.canal.reference_point!r}.",
            "Make sure that both are one place; if not, begin a new series.",
            "question",
            length.canal,
        )


def _kept(record: Record, found: FoundInRecord) -> list[StoredEstimate | StoredConfirmation]:
    """Return the kept results that may be meant: of that canal, kind and time."""
    kept: tuple[StoredEstimate | StoredConfirmation, ...] = (
        record.estimates if found.result == "estimate" else record.confirmations
    )
    return [one for one in kept if one.canal == found.canal and one.when == found.when]
