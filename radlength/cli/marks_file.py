"""Marks in a file: what a person placed, and no result."""

from __future__ import annotations

import json
from dataclasses import MISSING
from dataclasses import fields as dataclass_fields
from pathlib import Path
from typing import Any, TypeVar, cast

from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus
from radlength.record import Record, check_binding
from radlength.record.parse import MAX_BYTES
from radlength.scale import Reference
from radlength.uncertainty import Marking

FORMAT, VERSION = "radlength-marks", 1
_KEYS = {"format", "version", "invented", "caution", "note", "pitch_mm", "marking", "references", "canals"}
_WORDS = ("tooth", "name", "reference_point", "placement", "canal", "table", "observation")
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
        Take the marks into this record in place of those it has; its results and history stay. A new one by
        default.
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
        record = record if record.marking == marking else record.with_marking(marking, who=who)
    if record.invented != bool(raw.get("invented")):
        record = record.model_copy(update={"invented": bool(raw.get("invented"))})
    if raw.get("pitch_mm") is not None:
        pitch = _pair(raw["pitch_mm"], path)
        record = record if record.stated_pitch_mm == pitch else record.with_stated_pitch(*pitch, who=who)
    references = [_build(Reference, fields, "reference", path) for fields in _items(raw, "references", path)]
    canals = [_canal(fields, path) for fields in _items(raw, "canals", path)]
    record = _without_others(record, references, [canal for canal, _, _ in canals], who)
    for reference in references:
        if reference not in record.references:
            record = record.with_reference(reference, who=who)
    for canal, name, terminus in canals:
        if (canal, name, terminus) not in [(e.canal, e.reference, e.terminus) for e in record.canals]:
            record = record.with_canal(canal, reference=name, terminus=terminus, who=who)
    return record


def _canal(fields: dict[str, Any], path: Path) -> tuple[Canal, str | None, Terminus | None]:
    own = dict(fields)
    reference, terminus = own.pop("reference", None), own.pop("terminus", None)
    stated = _build(Terminus, terminus, "terminus", path) if terminus is not None else None
    if not isinstance(reference, str | None):
        raise _refused(path, "the reference of a canal is not the name of one")
    return _build(Canal, own, "canal", path), reference, stated


def _without_others(
    record: Record, references: list[Reference], canals: list[Canal], who: str | None
) -> Record:
    """Return the record without the canals and references that the file has no more."""
    kept_canals = {canal.label for canal in canals}
    for entry in record.canals:
        if entry.canal.label not in kept_canals:
            record = record.without_canal(entry.id, who=who)
    kept_references = {reference.name for reference in references}
    for reference in record.references:
        if reference.name not in kept_references:
            record = record.without_reference(reference.name, who=who)
    return record


def _load(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            raw = json.loads(file.read(MAX_BYTES))
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
    except (TypeError, ValueError, OverflowError) as exc:
        raise _refused(path, "pitch_mm is not a pair of numbers") from exc
    return row, column


def _build(kind: type[T], fields: Any, what: str, path: Path) -> T:
    wordless = [
        key for key in _WORDS if isinstance(fields, dict) and not isinstance(fields.get(key), str | None)
    ]
    if wordless:
        raise _refused(path, f"the {wordless[0]} of a {what} is not text")
    if not isinstance(fields, dict):
        raise _refused(path, f"a {what} is no object with fields")
    have = {field.name: field.default is MISSING for field in dataclass_fields(cast("Any", kind))}
    also = ["reference", "terminus"] if kind is Canal else []
    unknown = sorted(set(fields) - set(have))
    if unknown:
        raise _refused(
            path, f"a {what} has the unknown field {unknown[0]!r}; it may have {', '.join([*have, *also])}"
        )
    missing = [name for name, needed in have.items() if needed and name not in fields]
    if missing:
        raise _refused(path, f"a {what} lacks {', '.join(missing)}")
    try:
        return kind(**fields)
    except RadlengthError:
        raise
    except (TypeError, ValueError, OverflowError) as exc:
        raise _refused(path, f"a {what} holds something that is not what its field asks for") from exc


def _refused(path: Path, wrong: str) -> RecordError:
    return RecordError(
        wrong,
        f'a JSON file with "format": "{FORMAT}", "version": {VERSION} and the marks',
        "compare with the one that radlength demo writes",
        code="marks-file",
        subject=path.name or str(path),
    )
