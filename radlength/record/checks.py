"""What a schema cannot say: names once, known references, points inside the image."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Protocol

import numpy as np

from radlength.clean import counted
from radlength.errors import RecordError
from radlength.geometry import Point, points_outside
from radlength.record.confirmed import confirmation_status

if TYPE_CHECKING:
    from radlength.record.models import (
        CanalEntry,
        ConfirmationStatus,
        HistoryEntry,
        ImageBinding,
        StoredConfirmation,
        StoredEstimate,
        StoredLength,
    )
    from radlength.scale import Reference


class Checked(Protocol):
    """What is looked at of a record."""

    image: ImageBinding
    status: ConfirmationStatus
    references: tuple[Reference, ...]
    canals: tuple[CanalEntry, ...]
    estimates: tuple[StoredEstimate, ...]
    confirmations: tuple[StoredConfirmation, ...]
    history: tuple[HistoryEntry, ...]


def check_consistent(record: Checked) -> None:
    """Refuse a record that contradicts itself.

    Raises
    ------
    RecordError
        With what contradicts what.
    """
    for wrong in _contradictions(record):
        raise RecordError(
            wrong,
            remedy="mark the item again",
            code="record-inconsistent",
            subject=record.image.name,
        )


def _contradictions(record: Checked) -> Iterator[str]:
    if not record.history:
        yield "the history is empty"
    yield from _unwritable(record)
    yield from (f"two references are called {name!r}" for name in _twice(r.name for r in record.references))
    yield from (f"canal {label} is there twice" for label in _twice(e.canal.label for e in record.canals))
    yield from (f"two canals have the id {key}" for key in _twice(e.id for e in record.canals))
    names = {reference.name for reference in record.references}
    if "" in names:
        yield "a reference has no name"
    for entry in record.canals:
        if entry.reference is not None and entry.reference not in names:
            yield f"canal {entry.canal.label} is measured by {entry.reference!r}, which is not there"
    shape = (record.image.rows, record.image.columns)
    for done in record.confirmations:
        if len(done.gap_path_px) < 2:
            yield f"the path of a gap has {counted(len(done.gap_path_px), 'point')}, at least two make one"
    yield from _outside_its_interval(record)
    for name in _outside(list(_paths(record)), shape):
        yield f"the path of {name} leaves the image ({shape[0]} x {shape[1]})"
    if record.status != confirmation_status(vars(record)):
        yield f"the status says {record.status!r} with {len(record.confirmations)} confirmations"


def _outside_its_interval(record: Checked) -> Iterator[str]:
    """No program writes such a length: a hand did, and whichever of its numbers is read may be the wrong one."""
    kept: list[StoredLength | None] = []
    for done in record.confirmations:
        kept += [done.gap, done.canal_length, done.working_length]
    for estimate in record.estimates:
        kept += [estimate.canal_length, estimate.working_length]
    for one in kept:
        if one is not None and not one.low_mm <= one.value_mm <= one.high_mm:
            yield f"a kept length of {one.value_mm:g} mm has the interval {one.low_mm:g} to {one.high_mm:g} mm"


def _outside(paths: list[tuple[str, tuple[Point, ...]]], shape: tuple[int, int]) -> list[str]:
    """Return whose paths leave the image: all points are looked at together first, since none mostly does."""
    points = np.asarray([point for _, path in paths for point in path]).reshape(-1, 2)
    if not points_outside(points, shape):
        return []
    return [name for name, path in paths if points_outside(np.asarray(path).reshape(-1, 2), shape)]


def _unwritable(record: Checked) -> Iterator[str]:
    """Marks are made outside this room; text from a file name or a terminal may hold half a character."""
    texts = [text for ref in record.references for text in (ref.name, ref.canal or "")]
    texts += [text for e in record.canals for text in (e.canal.name, e.canal.reference_point)]
    for text in texts:
        if not _is_utf8(text):
            yield f"the name {text!a} cannot be written as UTF-8"


def _is_utf8(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _paths(record: Checked) -> Iterator[tuple[str, tuple[Point, ...]]]:
    yield from ((reference.name, reference.path_px) for reference in record.references)
    yield from ((entry.canal.label, entry.canal.path_px) for entry in record.canals)
    yield from (("a gap", done.gap_path_px) for done in record.confirmations)


def _twice(items: Iterable[str]) -> list[str]:
    return [item for item, count in Counter(items).items() if count > 1]
