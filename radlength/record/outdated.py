"""Whether marks were changed after a result that a record keeps: what the history says was there, beside what is."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Any

from pydantic_core import to_json

from radlength.record.confirmed import SAID_CONFIRMED, holds, told_at
from radlength.record.models import HistoryEntry, StoredConfirmation, StoredEstimate
from radlength.record.record import Record
from radlength.scale import method_of

SAID_ESTIMATED = re.compile(r"canal .* estimated", re.DOTALL)
BEFORE = "before: "
BY_A_REFERENCE = ("in_canal", "borrowed", "beside")
RENAMED = "canals renamed: "
_CANAL = re.compile(r"canal .* (marked again|removed)", re.DOTALL)
_REFERENCE = re.compile(r"reference .* (marked again|removed)", re.DOTALL)


def history_place(record: Record, stored: StoredEstimate | StoredConfirmation) -> int | None:
    """Return the place in the history of a record that tells of a result; ``None`` where it does not tell of each."""
    if isinstance(stored, StoredConfirmation):
        return told_at(record.history, record.confirmations, stored, SAID_CONFIRMED)
    return told_at(record.history, record.estimates, stored, SAID_ESTIMATED)


def later_of(
    record: Record, kept: Sequence[StoredEstimate | StoredConfirmation]
) -> StoredEstimate | StoredConfirmation:
    """Return which of several results was kept last: by the order of the history, by times where it does not tell."""
    places = [history_place(record, one) for one in kept]
    if None in places:
        return max(kept, key=lambda one: one.when)
    return kept[places.index(max(place for place in places if place is not None))]


def marks_changed_since(record: Record, stored: StoredEstimate | StoredConfirmation) -> bool:
    """Tell whether a kept result would be another one on the marks as they are now.

    Parameters
    ----------
    record, stored
        The record, and an estimate or a confirmation that it keeps.

    Notes
    -----
    A confirmation has a digest of its marks. For an estimate each change after it is taken back, from the last to the
    first, by what the history keeps of what was there before; where it keeps nothing, the marks count as changed.
    Compared is what moves a length: pixels, pitch, path, reference, terminus, and whether the reference lies in the
    canal. Names alone move none, nor does the spread of the marks.
    """
    if isinstance(stored, StoredConfirmation):
        return not holds(vars(record), stored)
    now = _plain(record)
    place = history_place(record, stored)
    if place is None:
        since = [one for one in record.history if one.when > stored.when]
    else:
        since = list(record.history[place + 1 :])
    then = json.loads(json.dumps(now))
    if not all(_taken_back(then, change) for change in reversed(since)):
        return True
    measured = _of_canal(now, stored.canal)
    if measured is None or measured != _of_canal(then, stored.canal):
        return True
    return _method_now(record, stored.canal) != (stored.method if stored.method in BY_A_REFERENCE else None)


def _method_now(record: Record, key: str) -> str | None:
    """Return how the reference of a canal measures it; ``None`` where it has none."""
    entry = next(one for one in record.canals if one.id == key)
    reference = record.reference_of(entry)
    return None if reference is None else method_of(reference, entry.canal.label)


def _plain(record: Record) -> dict[str, Any]:
    """Return what lengths follow from as plain data, canals and labels by ids and references by their names."""
    data: dict[str, Any] = json.loads(
        to_json(
            {
                "canals": {one.id: one for one in record.canals},
                "labels": {one.id: one.canal.label for one in record.canals},
                "references": {one.name: one for one in record.references},
                "pitch": record.stated_pitch_mm,
                "pixels": record.image.pixel_sha256,
            }
        )
    )
    return data


def _taken_back(data: dict[str, Any], change: HistoryEntry) -> bool:
    """Take one change back; tell whether the history kept what it needs."""
    what, kept = change.what, (change.details or "").removeprefix(BEFORE)
    if what.startswith(RENAMED):
        return _labels_back(data["labels"], what.removeprefix(RENAMED))
    canal, reference = _CANAL.fullmatch(what), _REFERENCE.fullmatch(what)
    terminus = what.startswith("terminus of ")
    pitch, pixels = what.startswith("detector pitch stated: "), what.startswith("bound to other pixels; ")
    if not (canal or reference or terminus or pitch or pixels):
        return True
    try:
        before = json.loads(kept)
        if canal:
            data["canals"][before["id"]] = before
            data["labels"][before["id"]] = f"{before['canal']['tooth']} {before['canal']['name']}"
        elif reference:
            data["references"][before["name"]] = before
        elif terminus:
            return _terminus_back(data, what, before)
        elif pitch:
            data["pitch"] = before
        else:
            data["pixels"] = before["pixel_sha256"]
    except (ValueError, TypeError, KeyError):
        return False
    return True


def _labels_back(labels: dict[str, str], said: str) -> bool:
    """Give canals the labels they had, by whose the history told the changes before: two may have changed places."""
    back: dict[str, str] = {}
    for words in said.split("; "):
        old, _, new = words.partition(" is ")
        back |= {key: old for key, label in labels.items() if label == new}
    labels |= back
    return len(back) == len(said.split("; "))


def _terminus_back(data: dict[str, Any], what: str, before: Any) -> bool:
    """Give the terminus back to the canal that was called so."""
    for key, label in data["labels"].items():
        if what.startswith(f"terminus of {label}: "):
            data["canals"][key]["terminus"] = before
            return True
    return False


def _of_canal(data: dict[str, Any], key: str) -> dict[str, Any] | None:
    """Return what the length of one canal follows from; ``None`` where it is not marked."""
    entry = data["canals"].get(key)
    if entry is None:
        return None
    canal, terminus = entry["canal"], entry.get("terminus") or {}
    reference = data["references"].get(entry.get("reference"))
    kept = ("path_px", "length_mm", "limit_mm", "placement")
    return {
        "path": canal["path_px"],
        "straight": bool(canal.get("straight")),
        "terminus": {name: value for name, value in terminus.items() if value is not None},
        "reference": None if reference is None else [reference.get(name) for name in kept],
        "pitch": data["pitch"],
        "pixels": data["pixels"],
    }
