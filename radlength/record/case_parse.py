"""From bytes to a case, or the reason why not; and back: one line an event, so that a person can read and compare."""

from __future__ import annotations

import json
from typing import Any

from pydantic import ValidationError

from radlength.errors import RadlengthError, RecordError
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import CASE_FORMAT, CASE_VERSION, Event
from radlength.record.made import first_error
from radlength.record.parse import MAX_BYTES, UNTOUCHED, loads
from radlength.record.seal import seal, unseal


def parse_case(data: bytes, *, name: str = CASE_NAME) -> Case:
    """Return the case in the bytes of a file.

    Parameters
    ----------
    data
        UTF-8 JSON.
    name
        File name for the refusal.

    Raises
    ------
    RecordError
        Damaged, not JSON, not a case, a newer version, or an event that is wrong, with its place.
    """
    if len(data) > MAX_BYTES:
        raise _refused(name, f"larger than {MAX_BYTES // 1_000_000} MB, the most that is read", "size")
    plain = unseal(data.removeprefix(b"\xef\xbb\xbf"), name=name, kind="case")
    raw = loads(plain, name, form=CASE_FORMAT)
    _check_version(raw.get("version"), name)
    try:
        return Case.model_validate_json(plain, strict=True)
    except ValidationError as exc:
        raise _refused(name, first_error(exc), "field") from exc
    except RadlengthError as exc:
        raise _refused(name, exc.wrong, "inconsistent") from exc
    except (ValueError, RecursionError) as exc:
        raise _refused(name, "a number too large, or too many brackets", "json") from exc


def _check_version(version: Any, name: str) -> None:
    if version == CASE_VERSION and not isinstance(version, bool):
        return
    if isinstance(version, int) and not isinstance(version, bool) and version > CASE_VERSION:
        raise RecordError(
            f"case version {version} is newer than this radlength ({CASE_VERSION}); left untouched",
            remedy="update radlength",
            code="case-newer",
            subject=name,
        )
    raise _refused(name, "a case version that never was", "version")


def dump_case(case: Case) -> bytes:
    """Return the bytes of a case: the same case gives the same bytes, each event on a line of its own.

    Raises
    ------
    RecordError
        It holds something that JSON or UTF-8 cannot.
    """
    head = case.model_dump(mode="json", exclude={"events"})
    try:
        lines = [f" {json.dumps(name)}: {_text(value)}," for name, value in head.items()]
        events = event_lines(case)
    except ValueError as exc:
        raise RecordError(
            "the case holds something that cannot be written as JSON",
            "finite numbers and plain text",
            code="case-unwritable",
            subject=CASE_NAME,
        ) from exc
    body = b"[\n" + events + b"\n ]" if events else b"[]"
    return seal("\n".join(["{", *lines, ' "events": ']).encode() + body + b"\n}\n")


def event_lines(case: Case) -> bytes:
    """Return the lines of the events; those read or written before are not made again, for events never change."""
    count, known = case._lines
    if case.events[:count] != case._seen_events[:count]:
        count, known = 0, b""
    new = ",\n".join(f"  {_line(event)}" for event in case.events[count:]).encode()
    return b",\n".join(part for part in (known, new) if part)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _line(event: Event) -> str:
    """Return an event as one line, without what is not said of it."""
    return event.model_dump_json(exclude_none=True)


def _refused(name: str, wrong: str, what: str) -> RecordError:
    return RecordError(wrong, remedy=UNTOUCHED, code=f"case-{what}", subject=name)
