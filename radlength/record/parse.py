"""From bytes to a record, or the reason why not; and back."""

from __future__ import annotations

import json
from typing import Any

from pydantic import ValidationError

from radlength.errors import RadlengthError, RecordError
from radlength.record.migrate import migrate
from radlength.record.models import FORMAT
from radlength.record.record import Record

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
        Not JSON, not a record, a newer version, or a field that is wrong, with its place.
    MarkError, ScaleError, TradeError
        A mark in it is impossible.
    """
    if len(data) > MAX_BYTES:
        raise _refused(
            name, f"has {len(data) / 1e6:.0f} MB, at most {MAX_BYTES // 1_000_000} are read", "size"
        )
    raw = migrate(_loads(data, name), name=name)
    try:
        return Record.model_validate_json(json.dumps(raw))
    except ValidationError as exc:
        raise _refused(name, _first_error(exc), "field") from exc
    except RadlengthError as exc:
        raise RecordError(str(exc), remedy=UNTOUCHED, code=exc.code, subject=name) from exc


def dump_record(record: Record) -> bytes:
    """Return the bytes of a record: the same record gives the same bytes."""
    data = record.model_dump(mode="json")
    return (json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _loads(data: bytes, name: str) -> dict[str, Any]:
    try:
        raw = json.loads(data, parse_constant=_not_json, object_pairs_hook=_no_doubles)
    except _SaidError as exc:
        raise _refused(name, str(exc), "json") from exc
    except (ValueError, RecursionError) as exc:
        raise _refused(name, "not JSON", "json") from exc
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise _refused(name, f"not a {FORMAT}", "format")
    return raw


class _SaidError(ValueError):
    """A refusal whose words are ready."""


def _not_json(constant: str) -> float:
    message = f"not JSON: {constant}"
    raise _SaidError(message)


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    if len(set(keys)) < len(keys):
        double = next(key for key in keys if keys.count(key) > 1)
        message = f"the key {double!r} is there twice"
        raise _SaidError(message)
    return dict(pairs)


def _first_error(exc: ValidationError) -> str:
    error = exc.errors(include_url=False, include_input=False)[0]
    place = "$" + "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in error["loc"])
    return f"{place}: {error['msg']}"


def _refused(name: str, wrong: str, what: str) -> RecordError:
    return RecordError(wrong, remedy=UNTOUCHED, code=f"record-{what}", subject=name)
