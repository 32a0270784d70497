"""Lengths that a record keeps, in the order of time."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from radlength.clean import clean
from radlength.record import Record
from radlength.record.models import StoredConfirmation, StoredEstimate, StoredLength
from radlength.report.catalogue import Words


@dataclass(frozen=True, slots=True)
class Event:
    """A length as it was found at a time."""

    when: datetime
    canal: str
    what: str
    canal_length: StoredLength
    working_length: StoredLength | None

    @property
    def day(self) -> str:
        """The date, in UTC."""
        return f"{self.when:%Y-%m-%d}"


def kept_lengths(record: Record, canals: Collection[str], words: Words) -> tuple[Event, ...]:
    """Return what the record keeps of those canal ids, earliest first."""
    names = {entry.id: clean(entry.canal.label, 60) for entry in record.canals}
    stored: list[StoredEstimate | StoredConfirmation] = [*record.estimates, *record.confirmations]
    found = [
        Event(kept.when, names[kept.canal], _what(kept, words), kept.canal_length, kept.working_length)
        for kept in stored
        if kept.canal in canals
    ]
    return tuple(sorted(found, key=lambda event: event.when))


def _what(kept: StoredEstimate | StoredConfirmation, words: Words) -> str:
    if isinstance(kept, StoredConfirmation):
        return words("event_confirmation", verdict=kept.verdict, rule=clean(kept.rule, 80))
    made_by = words("algorithm", algorithm=clean(kept.algorithm, 20), software=clean(kept.software, 40))
    return f"{words('event_estimate')}, {made_by}"
