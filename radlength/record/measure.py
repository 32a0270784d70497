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
    """Return the estimate of one canal, and with it why a confirmation that was accepted does not confirm it.

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
    return with_findings(found, confirmation_findings(vars(record), entry))


def with_findings(found: Estimate, more: Sequence[Finding]) -> Estimate:
    """Return an estimate with findings added in the order of their severity."""
    if not more:
        return found
    return replace(found, findings=worst_first((*more, *found.findings)))


def measure_record(record: Record, radiograph: Radiograph) -> tuple[tuple[CanalEntry, Estimate], ...]:
    """Return every canal with its estimate, in the order of the record."""
    return tuple((entry, measure_entry(record, entry, radiograph)) for entry in record.canals)
