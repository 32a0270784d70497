"""A case: one tooth treatment, or several, as events in the order they were entered. Nothing in it is ever changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any, Literal, Self, TypeVar

from pydantic import Field, PrivateAttr

from radlength._version import __version__
from radlength.errors import RecordError
from radlength.record.case_checks import check_case
from radlength.record.case_models import (
    CASE_FORMAT,
    CASE_VERSION,
    CanalAdded,
    CanalNote,
    CaseEvent,
    Decision,
    Event,
    ImageAdded,
    LengthAdded,
    LengthWithdrawn,
    ReferencePoint,
    ViewPair,
)
from radlength.record.case_status import DECIDED, CaseStatus, status_of_events
from radlength.record.made import made, shown
from radlength.record.models import Frozen, Producer
from radlength.record.stored import now
from radlength.trade import CAUTION, NOT_CONFIRMED

CASE_NAME = "radlength-case.json"
Kind = TypeVar("Kind", bound=Event)


class Case(Frozen):
    """Everything known of a treatment.

    Parameters
    ----------
    status
        ``decided by a person`` where every canal has a decision in its present series, else
        ``estimate, not confirmed``.
    invented
        No real tooth.
    events
        What was entered, in order. Only added to.
    """

    format: Literal["radlength-case"]
    version: Literal[1]
    caution: Annotated[str, Field(min_length=40, max_length=2000)]
    status: CaseStatus
    invented: bool = False
    producer: Producer
    events: tuple[CaseEvent, ...]

    _folder: Path | None = PrivateAttr(default=None)
    _seen: bytes | None = PrivateAttr(default=None)
    _seen_events: tuple[CaseEvent, ...] = PrivateAttr(default=())
    _lines: tuple[int, bytes] = PrivateAttr(default=(0, b""))

    def model_post_init(self, _context: object) -> None:
        """Check what a schema cannot say."""
        check_case(self.events, self.status)

    @classmethod
    def new(cls, *, invented: bool = False) -> Self:
        """Return an empty case.

        Examples
        --------
        >>> Case.new().status
        'estimate, not confirmed'
        """
        return cls(
            format=CASE_FORMAT,
            version=CASE_VERSION,
            caution=CAUTION,
            status=NOT_CONFIRMED,
            invented=invented,
            producer=Producer(version=__version__),
            events=(),
        )

    def of_kind(self, kind: type[Kind]) -> Iterator[Kind]:
        """Yield the events of a kind, in order."""
        return (event for event in self.events if isinstance(event, kind))

    @property
    def images(self) -> tuple[ImageAdded, ...]:
        """Images that no later event replaces, in order."""
        return _standing(self.of_kind(ImageAdded))

    @property
    def canals(self) -> tuple[CanalAdded, ...]:
        """Canals in the order they were added."""
        return tuple(self.of_kind(CanalAdded))

    @property
    def views(self) -> tuple[ViewPair, ...]:
        """Pairs of a straight and a shifted image."""
        return tuple(self.of_kind(ViewPair))

    @property
    def teeth(self) -> tuple[str, ...]:
        """Teeth, each once."""
        return tuple(dict.fromkeys(canal.label.removesuffix(f" {canal.name}") for canal in self.canals))

    def canal(self, label: str) -> CanalAdded:
        """Return the canal of a label (``46 MB``), or of a name where only one tooth has it.

        Raises
        ------
        RecordError
            No such canal, or several.
        """
        found = [canal for canal in self.canals if label == canal.label]
        found = found or [canal for canal in self.canals if label == canal.name]
        if len(found) == 1:
            return found[0]
        raise RecordError(
            f"{'no' if not found else 'more than one'} canal {shown(label)!r} in the case",
            f"one of: {', '.join(canal.label for canal in self.canals) or 'none is added'}",
            "add it: radlength case add canal --help" if not found else "give tooth and name",
            code="case-canal-unknown",
            subject=CASE_NAME,
        )

    def event(self, number: int, kind: type[Kind]) -> Kind:
        """Return the event of a number, of the kind that is meant.

        Raises
        ------
        RecordError
            No such event, or one of another kind.
        """
        found = self.events[number - 1] if 1 <= number <= len(self.events) else None
        if isinstance(found, kind):
            return found
        wanted = str(kind.model_fields["kind"].default)
        numbers = ", ".join(str(event.number) for event in self.of_kind(kind))
        raise RecordError(
            f"event {number} is no {wanted}" if found else f"there is no event {number}",
            f"a {wanted}: {numbers or 'there is none yet'}",
            code="case-event-unknown",
            subject=CASE_NAME,
        )

    def series(self, label: str) -> tuple[ReferencePoint, ...]:
        """Return the reference points of a canal; the last one is the present series."""
        return tuple(event for event in self.of_kind(ReferencePoint) if event.canal == label)

    def notes(self, label: str) -> tuple[CanalNote, ...]:
        """Return what was noted of a canal."""
        return tuple(event for event in self.of_kind(CanalNote) if label in (event.canal, event.other))

    def lengths(self, label: str, *, corrected: bool = False) -> tuple[LengthAdded, ...]:
        """Return the lengths of a canal that stand; with `corrected` also those replaced or withdrawn."""
        if corrected:
            return tuple(event for event in self.of_kind(LengthAdded) if event.canal == label)
        gone = {event.length for event in self.of_kind(LengthWithdrawn)}
        standing = _standing(self.of_kind(LengthAdded))
        return tuple(event for event in standing if event.canal == label and event.number not in gone)

    def present_lengths(self, label: str) -> tuple[LengthAdded, ...]:
        """Return the standing lengths of a canal from its present reference point, in the order of the work.

        Raises
        ------
        RecordError
            No such canal.
        """
        label = self.canal(label).label
        series = self.series(label)[-1].number
        found = [event for event in self.lengths(label) if event.series == series]
        return tuple(sorted(found, key=lambda event: (self.day_of(event), event.measured, event.number)))

    def day_of(self, length: LengthAdded) -> date:
        """Return the day that a length shows: that of its image, however late somebody measured on it."""
        number = length.found.image if length.found is not None else None
        if length.views is not None:
            number = self.event(length.views, ViewPair).straight
        return length.measured.date() if number is None else self.event(number, ImageAdded).taken

    def decision(self, label: str) -> Decision | None:
        """Return the last decision on a canal in its present series; one of an earlier series stands no more.

        Raises
        ------
        RecordError
            No such canal.
        """
        label = self.canal(label).label
        series = self.series(label)[-1].number
        found = [e for e in self.of_kind(Decision) if e.canal == label and e.series == series]
        return found[-1] if found else None

    def status_of(self, label: str) -> CaseStatus:
        """Return what the case may say of a canal."""
        return DECIDED if self.decision(label) else NOT_CONFIRMED

    def with_event(self, kind: type[Event], *, when: datetime | None = None, **fields: Any) -> Self:
        """Return the case with one event more, checked whole.

        Raises
        ------
        RecordError
            A field is wrong, or the event contradicts the case.
        """
        event = made(kind, subject=CASE_NAME, number=len(self.events) + 1, entered=when or now(), **fields)
        events = (*self.events, event)
        changed = made(
            type(self),
            subject=CASE_NAME,
            format=CASE_FORMAT,
            version=CASE_VERSION,
            caution=CAUTION,
            status=status_of_events(events),
            invented=self.invented,
            producer=Producer(version=__version__),
            events=events,
        )
        changed._folder, changed._lines = self._folder, self._lines
        changed._seen, changed._seen_events = self._seen, self._seen_events
        return changed


Replacing = TypeVar("Replacing", ImageAdded, LengthAdded)


def _standing(events: Iterator[Replacing]) -> tuple[Replacing, ...]:
    found = tuple(events)
    gone = {event.replaces for event in found}
    return tuple(event for event in found if event.number not in gone)
