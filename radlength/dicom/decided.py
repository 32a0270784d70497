"""What people decided in a case on the canals of one image, and whether they had the marks that stand there now."""

from __future__ import annotations

from pathlib import Path

from radlength.dicom.decision import Decision
from radlength.dicom.errors import DicomError
from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph
from radlength.length.reconcile import end_words
from radlength.record import Case, Record, load_record
from radlength.record.case_images import file_sha256
from radlength.record.case_models import ImageAdded, LengthAdded, LengthWithdrawn
from radlength.record.compare import AGREE_MM
from radlength.record.confirmed import holds
from radlength.record.measure import measure_entry
from radlength.record.models import CanalEntry
from radlength.record.store import seen_sha256


def decided_in(
    case: Case, image: Path, *, organization: str = "", records_dir: Path | None = None
) -> list[Decision]:
    """Return what people decided in a case on the canals marked on an image; none is ever made here.

    Parameters
    ----------
    case
        The case that the image belongs to.
    image
        The image file.
    organization
        Where those people work.
    records_dir
        Where the records are.

    Returns
    -------
    list of Decision
        In the order of the case. A canal that is decided but not marked on the image is left out.

    Raises
    ------
    DicomError
        The image is not in the case: a decision must not come from another tooth's.
    RecordError
        The image has no sound record.
    """
    digest = file_sha256(image)
    if digest not in {one.file_sha256 for one in case.images}:
        raise DicomError(
            "the image is not in the case",
            "an image that the case holds",
            "add it: radlength case add image --help",
            code="decision-case",
            subject=image.name,
        )
    record = load_record(image, records_dir=records_dir)
    entries = {entry.canal.label: entry for entry in record.canals}
    found = [case.decision(canal.label) for canal in case.canals if canal.label in entries]
    return [
        Decision(
            one.canal,
            one.value_mm,
            one.by,
            one.entered,
            organization,
            end_words(one.landmark, one.short_mm),
            _on_marks(case, one.number, (image, digest), record, entries[one.canal]),
        )
        for one in found
        if one is not None
    ]


def _on_marks(case: Case, decision: int, image: tuple[Path, str], record: Record, entry: CanalEntry) -> bool:
    """Return whether the decision of a number was made with the marks that an image has now.

    The lengths taken from the image that stood then say so; without any, the hash of its record.
    """
    path, digest = image
    before = [one for one in case.events if one.number < decision]
    gone = {one.replaces for one in before if isinstance(one, LengthAdded)}
    gone |= {one.length for one in before if isinstance(one, LengthWithdrawn)}
    same = {one.number for one in before if isinstance(one, ImageAdded) and one.file_sha256 == digest}
    lengths = [
        one
        for one in before
        if isinstance(one, LengthAdded)
        and one.number not in gone
        and one.found is not None
        and one.found.image in same
        and one.found.canal == entry.id
    ]
    if not lengths:
        hashes = [one.record_sha256 for one in before if isinstance(one, ImageAdded) and one.number in same]
        return bool(hashes) and hashes[-1] == seen_sha256(record)
    return any(_still(record, one, entry, path) for one in lengths)


def _still(record: Record, length: LengthAdded, entry: CanalEntry, path: Path) -> bool:
    """Return whether the marks give the length that a case took from them."""
    assert length.found is not None  # noqa: S101 - the caller asked
    if length.found.result == "confirmation":
        when = length.found.when
        kept = [one for one in record.confirmations if (one.canal, one.when) == (entry.id, when)]
        return any(holds(vars(record), one) for one in kept)
    try:
        now = measure_entry(record, entry, read_radiograph(path))
    except RadlengthError:
        return False
    shown = now.working_length if length.short_mm else now.canal_length
    ends = now.canal_length.value_mm - shown.value_mm if shown is not None else -1.0
    return (
        shown is not None
        and abs(ends - length.short_mm) < AGREE_MM
        and abs(shown.value_mm - length.length.value_mm) < AGREE_MM
    )
