"""Marks in a file: what a person placed, and no result."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, TypeVar

from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus
from radlength.record import Record, check_binding
from radlength.scale import Reference
from radlength.uncertainty import Marking

FORMAT, VERSION = "radlength-marks", 1
_KEYS = {"format", "version", "invented", "note", "pitch_mm", "marking", "references", "canals"}
T = TypeVar("T")


def record_from_marks(
    path: Path, radiograph: Radiograph, *, record: Record | None = None, who: str | None = None
) -> Record:
    """Return a record of a radiograph with the marks of a file.

    Parameters
    ----------
    path
        JSON: ``format`` "radlength-marks", ``version`` 1, and ``references``, ``canals``, ``marking``,
        ``pitch_mm`` with the fields of the classes of those names; a canal may add ``reference`` (a name) and
        ``terminus``.
    radiograph
        The image they were placed on.
    record
        Take the marks into this record, whose results and history stay; a new one by default.
    who
        Who placed them, optional.

    Raises
    ------
    RecordError
        Not such a file.
    MarkError, ScaleError, TradeError
        A mark in it is impossible.
    """
    raw = _load(path)
    marking = _build(Marking, raw.get("marking") or {}, "marking", path)
    if record is None:
        record = Record.new(radiograph, marking=marking, who=who)
    else:
        check_binding(record, radiograph)
        record = record.with_marking(marking, who=who)
    if raw.get("invented"):
        record = record.model_copy(update={"invented": True})
    if raw.get("pitch_mm") is not None:
        record = record.with_stated_pitch(*_pair(raw["pitch_mm"], path), who=who)
    for fields in _items(raw, "references", path):
        record = record.with_reference(_build(Reference, fields, "reference", path), who=who)
    for fields in _items(raw, "canals", path):
        own = dict(fields)
        reference, terminus = own.pop("reference", None), own.pop("terminus", None)
        record = record.with_canal(
            _build(Canal, own, "canal", path),
            reference=reference,
            terminus=_build(Terminus, terminus, "terminus", path) if terminus else None,
            who=who,
        )
    return record


def _load(path: Path) -> dict[str, Any]:
    try:
        raw = json.loads(path.read_bytes())
    except FileNotFoundError as exc:
        raise _refused(path, "there is no such file") from exc
    except (OSError, ValueError, RecursionError) as exc:
        raise _refused(path, "not a readable JSON file") from exc
    if not isinstance(raw, dict) or raw.get("format") != FORMAT or raw.get("version") != VERSION:
        raise _refused(path, f"not a {FORMAT} file of version {VERSION}")
    unknown = sorted(set(raw) - _KEYS)
    if unknown:
        raise _refused(path, f"has the unknown key {unknown[0]!r}")
    return raw


def _items(raw: dict[str, Any], key: str, path: Path) -> list[dict[str, Any]]:
    items = raw.get(key) or []
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise _refused(path, f"its {key} are not a list of objects")
    return items


def _pair(value: Any, path: Path) -> tuple[float, float]:
    try:
        row, column = map(float, value)
    except (TypeError, ValueError) as exc:
        raise _refused(path, "pitch_mm is not a pair of numbers") from exc
    return row, column


def _build(kind: type[T], fields: Any, what: str, path: Path) -> T:
    try:
        return kind(**fields)
    except RadlengthError:
        raise
    except TypeError as exc:
        raise _refused(path, f"a {what} has wrong, missing or unknown fields: {exc}") from exc


def _refused(path: Path, wrong: str) -> RecordError:
    return RecordError(wrong, remedy="see radlength mark --help", code="marks-file", subject=path.name)
