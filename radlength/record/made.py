"""Models made from what a caller gives, with a refusal in plain words where a field is wrong."""

from __future__ import annotations

import reprlib
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from radlength.errors import RecordError

Model = TypeVar("Model", bound=BaseModel)

_NO_SUCH_FIELD = "no such field, nothing else may be kept in a record"
_WORDS = {
    "extra_forbidden": _NO_SUCH_FIELD,
    "unexpected_keyword_argument": _NO_SUCH_FIELD,
    "missing": "is missing",
    "missing_argument": "is missing",
    "string_unicode": "has characters that cannot be written as UTF-8",
}


def made(kind: type[Model], *, subject: str, **fields: Any) -> Model:
    """Return a model of the fields.

    Parameters
    ----------
    kind
        Which model.
    subject
        The image, named in the refusal.
    fields
        Its fields.

    Raises
    ------
    RecordError
        A field is wrong, with its place. The value is not repeated: it may be long or personal.
    """
    try:
        return kind(**fields)
    except ValidationError as exc:
        place = json_path(_first(exc)["loc"]).removeprefix("$").removeprefix(".")
        raise RecordError(
            f"{place}: {_reason(_first(exc))}",
            remedy="nothing was changed",
            code="record-field",
            subject=shown(subject),
        ) from exc


def first_error(exc: ValidationError) -> str:
    """Return the place and the reason of the first error: ``$.image.rows: is missing``."""
    error = _first(exc)
    return f"{json_path(error['loc'])}: {_reason(error)}"


def _first(exc: ValidationError) -> ErrorDetails:
    return exc.errors(include_url=False, include_input=False)[0]


def _reason(error: ErrorDetails) -> str:
    """Return what is wrong with a field and what is allowed, in plain words; its value is never in them."""
    kind, limits = error["type"], error.get("ctx", {})
    if kind in _WORDS:
        return _WORDS[kind]
    if kind == "string_too_long":
        return f"has more than {limits['max_length']} characters"
    if kind == "string_too_short":
        least = limits["min_length"]
        return "is empty" if least == 1 else f"has fewer than {least} characters"
    if kind == "string_pattern_mismatch":
        return "is empty" if limits["pattern"] == r"\S" else "is not written as it must be"
    return error["msg"].removeprefix("Input ").removeprefix("Value error, ")


def json_path(place: tuple[int | str, ...]) -> str:
    """Return a place in a file as a JSON path.

    Examples
    --------
    >>> json_path(("canals", 0, "canal", "tooth"))
    '$.canals[0].canal.tooth'
    """
    return "$" + "".join(f"[{part}]" if isinstance(part, int) else f".{shown(part)}" for part in place)


def shown(text: str) -> str:
    r"""Return a text that any terminal can print, short enough for one line.

    Examples
    --------
    >>> print(shown("tooth\n46"))
    tooth\n46
    """
    plain = text if text.isprintable() else ascii(text)[1:-1]
    return plain if len(plain) <= 255 else reprlib.repr(plain)
