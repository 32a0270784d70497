"""Whether the files of a case are what it was made with: images, records, and the results that its lengths were."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path

from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.record.case import Case
from radlength.record.case_images import file_sha256
from radlength.record.case_models import FoundInRecord, ImageAdded, LengthAdded, ReferencePoint
from radlength.record.models import StoredConfirmation, StoredEstimate
from radlength.record.outdated import marks_changed_since
from radlength.record.record import Record
from radlength.record.store import load_record, record_path

AGREE_MM = 1e-9


def case_file_findings(case: Case, folder: str | os.PathLike[str]) -> tuple[Finding, ...]:
    """Return what is wrong with the files of a case: moved, edited, or another number than was taken.

    Parameters
    ----------
    case, folder
        The case and where it lies.
    """
    home = Path(folder)
    records = _records(case, home)
    lengths = case.of_kind(LengthAdded)
    return (
        *(finding for image in case.images for finding in _image(home, image)),
        *_one_picture(case, records),
        *(finding for length in lengths for finding in _length(case, records, length)),
    )


def _records(case: Case, home: Path) -> dict[int, Record]:
    """Return the records that can be read, by the numbers of their images; none behind a link out of the folder."""
    by_path: dict[str, Record | None] = {}
    for path in {image.path for image in case.of_kind(ImageAdded)}:
        marks = record_path(home / path).relative_to(home).as_posix()
        by_path[path] = None
        if not (_outside(home, path) or _outside(home, marks)):
            with suppress(RecordError):
                by_path[path] = load_record(home / path)
    return {
        image.number: record
        for image in case.of_kind(ImageAdded)
        if (record := by_path[image.path]) is not None
    }


def _one_picture(case: Case, records: Mapping[int, Record]) -> Iterator[Finding]:
    """Yield a doubt where lengths come from two files of one picture, as an image and its export: by their pixels."""
    lengths = [length for canal in case.canals for length in case.lengths(canal.label)]
    measured = {case.event(one.found.image, ImageAdded).path for one in lengths if one.found is not None}
    pictures: dict[str, list[ImageAdded]] = {}
    for image in case.images:
        if image.number in records and image.path in measured:
            pictures.setdefault(records[image.number].image.pixel_sha256, []).append(image)
    for same in pictures.values():
        if len({image.file_sha256 for image in same}) > 1:
            yield Finding(
                "case-images-one-picture",
                f"{', '.join(image.path for image in same)} hold the same picture: lengths of them are no lengths of "
                "different images, and their agreement is no second proof.",
                "Withdraw the lengths of all but one of them, with the reason.",
                "serious",
                same[-1].path,
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


def _length(case: Case, records: Mapping[int, Record], length: LengthAdded) -> Iterator[Finding]:
    if length.found is None or length.found.image not in records:
        return
    image, record = case.event(length.found.image, ImageAdded), records[length.found.image]
    yield from _other_words(case, record, length)
    if length in case.lengths(length.canal):
        yield from _other_canal(case, record, length)
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
    elif length in case.lengths(length.canal) and all(marks_changed_since(record, one) for one in kept):
        yield Finding(
            "case-result-outdated",
            f"Length {length.number} is {length.length.value_mm:.2f} mm; marks, scale or terminus of its canal were "
            f"changed in the record of {image.path} afterwards.",
            "Measure the image again and put that result in its place.",
            "serious",
            length.canal,
        )


def _other_canal(case: Case, record: Record, length: LengthAdded) -> Iterator[Finding]:
    """Yield a doubt where the record calls the canal that was measured another tooth or another canal."""
    entry = next((one for one in record.canals if length.found and one.id == length.found.canal), None)
    mine = case.canal(length.canal)
    if entry is None or (entry.canal.tooth, entry.canal.name) == (mine.tooth, mine.name):
        return
    yield Finding(
        "case-canal-differs",
        f"Length {length.number} counts for {length.canal}; its record calls the canal it was measured on "
        f"{entry.canal.label}.",
        "Find out which canal it is; correct the length, or the name in the record.",
        "serious" if entry.canal.tooth != mine.tooth else "question",
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
