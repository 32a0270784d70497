"""What a schema cannot say of a case: numbers in order, nothing before what it speaks of, nothing replaced twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Any

from radlength.errors import RadlengthError, RecordError
from radlength.record.case_models import (
    CanalAdded,
    CanalNote,
    Decision,
    Event,
    ImageAdded,
    LengthAdded,
    LengthWithdrawn,
    ReferencePoint,
    ViewPair,
)
from radlength.record.case_status import status_of_events
from radlength.record.made import shown
from radlength.trade import check_tooth


@dataclass(slots=True)
class _Seen:
    """What the events before one have said."""

    images: set[int] = field(default_factory=set)
    canals: set[str] = field(default_factory=set)
    series: dict[int, str] = field(default_factory=dict)
    present: dict[str, int] = field(default_factory=dict)
    lengths: dict[int, LengthAdded] = field(default_factory=dict)
    decisions: dict[int, Decision] = field(default_factory=dict)
    replaced: set[int] = field(default_factory=set)
    views: set[int] = field(default_factory=set)


def check_case(events: Sequence[Event], status: str) -> None:
    """Refuse a case that contradicts itself.

    Raises
    ------
    RecordError
        With what contradicts what.
    """
    seen = _Seen()
    for place, event in enumerate(events, 1):
        wrong = f"it has the number {event.number}" if event.number != place else _wrong(event, seen)
        if wrong:
            raise RecordError(
                f"event {place}: {wrong}",
                remedy="nothing was changed",
                code="case-inconsistent",
                subject="radlength-case.json",
            )
    if status != status_of_events(events):
        raise RecordError(
            f"the status says {status!r}, the decisions say {status_of_events(events)!r}",
            remedy="nothing was changed",
            code="case-inconsistent",
            subject="radlength-case.json",
        )


def _wrong(event: Any, seen: _Seen) -> str | None:
    return next(_CHECKS[type(event)](event, seen), None)


def _image(event: ImageAdded, seen: _Seen) -> Iterator[str]:
    for path in (event.path, event.record_path):
        if path is not None and not _inside(path):
            yield f"the path {shown(path)!r} leaves the folder of the case"
    if event.stage == "other" and not event.label.strip():
        yield "an image of another stage without a label"
    if (event.record_path is None) != (event.record_sha256 is None):
        yield "a record without its hash, or a hash without its record"
    yield from _replacing(event.replaces, seen.images, "image", seen)
    seen.images.add(event.number)


def _inside(path: str) -> bool:
    pure = PurePosixPath(path)
    return not (pure.is_absolute() or ".." in pure.parts or "\\" in path or ":" in path or "\0" in path)


def _canal(event: CanalAdded, seen: _Seen) -> Iterator[str]:
    try:
        check_tooth(event.tooth)
    except RadlengthError as exc:
        yield exc.wrong
    if event.label in seen.canals:
        yield f"canal {event.label} is there twice"
    seen.canals.add(event.label)


def _reference_point(event: ReferencePoint, seen: _Seen) -> Iterator[str]:
    yield from _known(event.canal, seen)
    if event.image is not None and event.image not in seen.images:
        yield f"event {event.image} is no image"
    if (event.image is None) != (event.point_px is None):
        yield "a place of the reference point without its image, or an image without the place"
    if event.canal in seen.present and not (event.why or "").strip():
        yield "another reference point without a reason"
    seen.series[event.number] = event.canal
    seen.present[event.canal] = event.number


def _note(event: CanalNote, seen: _Seen) -> Iterator[str]:
    yield from _known(event.canal, seen)
    if event.other is not None:
        yield from _known(event.other, seen)
    if event.state == "other" and not event.words.strip():
        yield "a note that says nothing"


def _views(event: ViewPair, seen: _Seen) -> Iterator[str]:
    for image in (event.straight, event.shifted):
        if image not in seen.images:
            yield f"event {image} is no image"
    if event.straight == event.shifted:
        yield "one image as both views"
    seen.views.add(event.number)


def _length(event: LengthAdded, seen: _Seen) -> Iterator[str]:
    yield from _known(event.canal, seen)
    if seen.series.get(event.series) != event.canal:
        yield f"event {event.series} is no reference point of {event.canal}"
    yield from _replacing(event.replaces, set(seen.lengths), "length", seen)
    if event.replaces is not None and not (event.why or "").strip():
        yield "a correction without a reason"
    yield from _sound(event)
    if event.found is not None and event.found.image not in seen.images:
        yield f"event {event.found.image} is no image"
    if event.views is not None and event.views not in seen.views:
        yield f"event {event.views} is no pair of views"
    if (event.method == "two views") != (event.views is not None):
        yield "a length of two views without its pair, or a pair with another method"
    seen.lengths[event.number] = event


def _withdrawn(event: LengthWithdrawn, seen: _Seen) -> Iterator[str]:
    if event.length not in seen.lengths:
        yield f"event {event.length} is no length before it"
    if event.length in seen.replaced:
        yield f"event {event.length} was replaced or withdrawn already"
    seen.replaced.add(event.length)


def _sound(event: LengthAdded) -> Iterator[str]:
    length, locator = event.length, event.locator
    if not length.low_mm <= length.value_mm <= length.high_mm:
        yield "an interval that does not hold its value"
    if not 5 <= length.value_mm <= 60:
        yield f"a length of {length.value_mm:g} mm, where a canal has 5 to 60 mm"
    if not (event.u_ruler_mm**2 + event.u_reference_mm**2) ** 0.5 < length.u_mm:
        yield "more uncertainty shared with other lengths than it has"
    if (locator is None) == (event.method == "apex locator"):
        yield "an apex locator length without its reading, or a reading of another method"
    if locator is not None and abs(locator.read_mm - locator.deduction_mm - length.value_mm) > 1e-6:
        yield "the reading less the deduction is not the length"


def _decision(event: Decision, seen: _Seen) -> Iterator[str]:
    yield from _known(event.canal, seen)
    if seen.present.get(event.canal) != event.series:
        yield f"a decision from another reference point than the present one of {event.canal}"
    for number in event.based_on:
        base = seen.lengths.get(number)
        if base is None or base.canal != event.canal or base.series != event.series:
            yield f"event {number} is no length of {event.canal} from its present reference point"
        if number in seen.replaced:
            yield f"length {number} was corrected or withdrawn"
    before = [n for n, e in seen.decisions.items() if (e.canal, e.series) == (event.canal, event.series)]
    if event.replaces != (before[-1] if before else None):
        yield f"it replaces {event.replaces}, the decision before it is {before[-1] if before else None}"
    if event.replaces is not None and not (event.why or "").strip():
        yield "a decision in place of another without a reason"
    seen.decisions[event.number] = event


def _known(label: str, seen: _Seen) -> Iterator[str]:
    if label not in seen.canals:
        yield f"canal {shown(label)!r} is not added"


def _replacing(number: int | None, known: set[int], what: str, seen: _Seen) -> Iterator[str]:
    if number is None:
        return
    if number not in known:
        yield f"it replaces event {number}, which is no {what} before it"
    if number in seen.replaced:
        yield f"event {number} was replaced or withdrawn already"
    seen.replaced.add(number)


_CHECKS: dict[type, Callable[[Any, _Seen], Iterator[str]]] = {
    ImageAdded: _image,
    CanalAdded: _canal,
    ReferencePoint: _reference_point,
    CanalNote: _note,
    ViewPair: _views,
    LengthAdded: _length,
    LengthWithdrawn: _withdrawn,
    Decision: _decision,
}
