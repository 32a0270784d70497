"""Measure every canal of a record again from its marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from radlength.finding import Finding, worst_first
from radlength.imaging import Radiograph
from radlength.length import Estimate, estimate_length
from radlength.record.binding import check_binding
from radlength.record.confirmed import confirmation_findings
from radlength.record.models import CanalEntry
from radlength.record.record import Record


def stated_radiograph(record: Record, radiograph: Radiograph) -> Radiograph:
    """Return the radiograph with the pitch that the record states, where it states one."""
    if record.stated_pitch_mm is None:
        return radiograph
    return radiograph.with_stated_pitch(*record.stated_pitch_mm)


def measure_entry(record: Record, entry: CanalEntry, radiograph: Radiograph) -> Estimate:
    """Return the estimate of one canal, and with it what of its record is in doubt.

    Raises
    ------
    RecordError
        The record belongs to other pixels.
    """
    check_binding(record, radiograph)
    reference = record.reference_of(entry)
    found = estimate_length(
        entry.canal,
        reference,
        radiograph=stated_radiograph(record, radiograph),
        terminus=entry.terminus,
        marking=record.marking,
        others=() if reference is None else record.references,
    )
    return with_findings(found, record_findings(record, entry))


def record_findings(record: Record, entry: CanalEntry) -> tuple[Finding, ...]:
    """Return what of the record puts the length of a canal in doubt.

    That is why a confirmation that was accepted does not confirm it, and another record of the image that says
    something else: one was read, and a person may look at the other. Beside the image it is seen; in another folder of
    records nobody can look for it.
    """
    doubts = confirmation_findings(vars(record), entry)
    if not record._other_beside:
        return doubts
    other = Finding(
        "other-record",
        "Beside the image lies another record of it, which was not read: this length is of the one in the folder of "
        "records that was named.",
        "Find out which of the two is right, and move the other one away.",
    )
    return (*doubts, other)


def with_findings(found: Estimate, more: Sequence[Finding]) -> Estimate:
    """Return an estimate with findings added in the order of their severity."""
    if not more:
        return found
    return replace(found, findings=worst_first((*more, *found.findings)))


def measure_record(record: Record, radiograph: Radiograph) -> tuple[tuple[CanalEntry, Estimate], ...]:
    """Return every canal with its estimate, in the order of the record."""
    return tuple((entry, measure_entry(record, entry, radiograph)) for entry in record.canals)
