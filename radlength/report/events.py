"""Lengths that a record keeps, in the order of time."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from radlength.clean import clean
from radlength.quantity import outward
from radlength.record import CanalEntry, Record
from radlength.record.confirmed import holds, newest_confirmations
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


def confirmation_words(record: Record, entry: CanalEntry, words: Words) -> str:
    """Return what the newest length-confirmation image of a canal said, empty where there is none."""
    kept = newest_confirmations(record.confirmations).get(entry.id)
    if kept is None:
        return ""
    low, high = outward(kept.canal_length.low_mm, kept.canal_length.high_mm, 1)
    working = kept.working_length
    return words(
        "confirmation",
        day=f"{kept.when:%Y-%m-%d}",
        set_to=words("mm", value=f"{kept.set_length_mm:g}"),
        gap=words("mm", value=f"{kept.gap.value_mm:z.1f}"),
        length=words("mm", value=f"{kept.canal_length.value_mm:.1f}"),
        interval=words("from_to", low=f"{low:z.1f}", high=f"{high:z.1f}"),
        working=words("confirmation_working", length=words("mm", value=f"{working.value_mm:.1f}"))
        if working
        else "",
        verdict=kept.verdict,
        rule=clean(kept.rule, 80),
        held="" if holds(vars(record), kept) else words("confirmation_older"),
    )


def _what(kept: StoredEstimate | StoredConfirmation, words: Words) -> str:
    if isinstance(kept, StoredConfirmation):
        return words("event_confirmation", verdict=kept.verdict, rule=clean(kept.rule, 80))
    made_by = words("algorithm", algorithm=clean(kept.algorithm, 20), software=clean(kept.software, 40))
    return f"{words('event_estimate')}, {made_by}"
