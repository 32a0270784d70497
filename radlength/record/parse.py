"""From bytes to a record, or the reason why not; and back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import to_json

from radlength.errors import RadlengthError, RecordError
from radlength.length import Canal, Terminus
from radlength.record.made import first_error, json_path, shown
from radlength.record.migrate import migrate
from radlength.record.models import FORMAT
from radlength.record.record import Record
from radlength.record.seal import seal, unseal
from radlength.record.stored import rounded
from radlength.scale import Reference
from radlength.uncertainty import Marking

MAX_BYTES = 50_000_000
UNTOUCHED = "the file is left untouched"


def parse_record(data: bytes, *, name: str = "record") -> Record:
    """Return the record in the bytes of a file.

    Parameters
    ----------
    data
        UTF-8 JSON.
    name
        File name for the refusal.

    Raises
    ------
    RecordError
        Damaged, not JSON, not a record, a newer version, or a field that is wrong, with its place.
        A mark in it that refuses itself keeps the code of its own refusal.
    """
    if len(data) > MAX_BYTES:
        most = f"{MAX_BYTES // 1_000_000} MB"
        raise _refused(name, f"larger than {most}, the most that is read", "size")
    plain = unseal(data.removeprefix(b"\xef\xbb\xbf"), name=name, kind="record")
    return _record(migrate(loads(plain, name), name=name), name)


def dump_checked(record: Record, *, name: str) -> bytes:
    """Return the bytes of a record as :func:`dump_record`, refused where they could not be read again.

    They are strict JSON of the present version, so that only what they say is left to check; their hash is made of
    what was checked.

    Raises
    ------
    RecordError
        As :func:`dump_record` and :func:`parse_record`.
    """
    plain = _plain(record)
    try:
        Record.model_validate_json(plain, strict=True)
    except (ValueError, OverflowError, RadlengthError, RecursionError):
        parse_record(plain, name=name)
        raise
    return seal(plain)


def _record(raw: dict[str, Any], name: str) -> Record:
    try:
        return Record.model_validate_json(json.dumps(raw, allow_nan=False), strict=True)
    except ValidationError as exc:
        raise _refused(name, first_error(exc), "field") from exc
    except RecordError as exc:
        raise _refused(name, exc.wrong, "inconsistent") from exc
    except RadlengthError as exc:
        place = json_path(_place_of_mark(raw))
        raise RecordError(
            f"{place}: {exc.wrong}", exc.allowed, UNTOUCHED, code=exc.code, subject=name
        ) from exc
    except (ValueError, OverflowError, RecursionError) as exc:
        raise _refused(name, "a number too large, or too many brackets", "json") from exc


def dump_record(record: Record) -> bytes:
    """Return the bytes of a record: the same record gives the same bytes.

    Points are written to a thousandth of a pixel, so that an untouched path never looks edited.

    Raises
    ------
    RecordError
        It holds something that JSON or UTF-8 cannot.
    """
    return seal(_plain(record))


def _plain(record: Record) -> bytes:
    """Return the bytes of a record without their hash."""
    try:
        data = record.model_dump(mode="json")
        for mark, key in _paths(data):
            mark[key] = rounded(mark[key])
        return _text(data) + b"\n"
    except ValueError as exc:
        raise RecordError(
            "the record holds something that cannot be written as JSON",
            "finite numbers and plain text",
            code="record-unwritable",
            subject=shown(record.image_name),
        ) from exc


def _text(data: Any) -> bytes:
    """Return data as JSON with a line for each member.

    Raises
    ------
    ValueError
        It holds a number that is not finite, or text that is not Unicode.
    """
    text = to_json(data, indent=1, inf_nan_mode="constants")
    if b"NaN" in text or b"Infinity" in text:  # as a number, or only as a word in a text
        json.dumps(data, allow_nan=False)
    return text


def _paths(data: dict[str, Any]) -> Iterator[tuple[dict[str, Any], str]]:
    """Yield every path of a record as where it stands and its key: points are rounded on writing."""
    yield from ((reference, "path_px") for reference in data["references"])
    yield from ((entry["canal"], "path_px") for entry in data["canals"])
    yield from ((done, "gap_path_px") for done in data["confirmations"])


def _place_of_mark(raw: dict[str, Any]) -> tuple[int | str, ...]:
    """Return where the mark stands that refused itself: marks do not know their place in a file."""
    return next((place for place, kind, value in _marks(raw) if _refuses_itself(kind, value)), ())


def _refuses_itself(kind: Any, value: Any) -> bool:
    try:
        TypeAdapter(kind).validate_json(json.dumps(value), strict=True)
    except RadlengthError:
        return True
    except ValidationError:
        return False
    return False


def _marks(raw: dict[str, Any]) -> Iterator[tuple[tuple[int | str, ...], Any, Any]]:
    yield ("marking",), Marking, raw.get("marking")
    for number, reference in enumerate(_list(raw.get("references"))):
        yield ("references", number), Reference, reference
    for number, entry in enumerate(_list(raw.get("canals"))):
        for key, kind in (("canal", Canal), ("terminus", Terminus)):
            if isinstance(entry, dict):
                yield ("canals", number, key), kind, entry.get(key)


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def loads(data: bytes, name: str, *, form: str = FORMAT) -> dict[str, Any]:
    """Return the object in the bytes of a file of that format: strict JSON, no key twice.

    Raises
    ------
    RecordError
        Not JSON, or of another format.
    """
    kind = form.removeprefix("radlength-")
    try:
        raw = json.loads(data.decode("utf-8-sig"), parse_constant=_not_json, object_pairs_hook=_no_doubles)
    except _SaidError as exc:
        raise _refused(name, str(exc), "json", kind) from exc
    except (ValueError, RecursionError) as exc:
        raise _refused(name, "not JSON", "json", kind) from exc
    if not isinstance(raw, dict) or raw.get("format") != form:
        raise _refused(name, f"not a {form}", "format", kind)
    return raw


class _SaidError(ValueError):
    """A refusal whose words are ready."""


def _not_json(constant: str) -> float:
    message = f"not JSON: {constant}"
    raise _SaidError(message)


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        seen: set[str] = set()
        double = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        message = f"the key {shown(double)!r} is there twice"
        raise _SaidError(message)
    return found


def _refused(name: str, wrong: str, what: str, kind: str = "record") -> RecordError:
    return RecordError(wrong, remedy=UNTOUCHED, code=f"{kind}-{what}", subject=name)
