"""Options of the case commands, and how their words become what the core takes."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.record.case import Case

CaseFolder = Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of the case.")]
OneCanal = Annotated[str, typer.Option("--canal", help="The canal: 'tooth name', or its name alone.")]
EnteredBy = Annotated[str | None, typer.Option("--who", help="Who enters it. Optional.")]
Why = Annotated[str | None, typer.Option("--why", help="The reason, in words.")]


def day(text: str, option: str) -> date:
    """Return the day of a text.

    Raises
    ------
    RecordError
        It is none.

    Examples
    --------
    >>> day("2026-01-02", "--taken")
    datetime.date(2026, 1, 2)
    """
    try:
        return date.fromisoformat(text)
    except ValueError as exc:
        raise RecordError(
            f"{text[:40]!a} is no day" if text else "the day is not stated",
            "year-month-day: 2026-01-02",
            code="case-date",
            subject=option,
        ) from exc


def moment(text: str | None, option: str) -> datetime | None:
    """Return the time of a text, taken as UTC where it names no zone; ``None`` of none.

    Raises
    ------
    RecordError
        It is none.

    Examples
    --------
    >>> moment("2026-01-02T10:30", "--measured").isoformat()
    '2026-01-02T10:30:00+00:00'
    """
    if text is None:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError as exc:
        raise RecordError(
            f"{text[:40]!a} is no time",
            "2026-01-02, or with the hour 2026-01-02T10:30",
            code="case-date",
            subject=option,
        ) from exc
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found


def chosen(text: str, allowed: tuple[str, ...], option: str) -> str:
    """Return a text that is one of a list.

    Raises
    ------
    RecordError
        It is not; the message lists them.
    """
    if text not in allowed:
        raise RecordError(
            f"{text[:60]!a} is unknown" if text else "it is not stated",
            f"one of: {', '.join(allowed)}",
            code="case-choice",
            subject=option,
        )
    return text


def image_number(case: Case, text: str) -> int:
    """Return the number of an image that is named by its number or its path.

    Raises
    ------
    RecordError
        No such image.
    """
    if text.isdecimal():
        return int(text)
    found = [image.number for image in case.images if text in (image.path, Path(image.path).name)]
    if len(found) == 1:
        return found[0]
    raise RecordError(
        f"{'no' if not found else 'more than one'} image of that name in the case",
        f"one of: {', '.join(image.path for image in case.images) or 'none is added'}",
        "add it: radlength case add image --help" if not found else "give its path from the folder",
        code="case-image-unknown",
        subject=Path(text).name,
    )


def numbers(text: str, option: str) -> tuple[int, ...]:
    """Return numbers that stand between commas.

    Raises
    ------
    RecordError
        Something else stands there.

    Examples
    --------
    >>> numbers("5, 7", "--based-on")
    (5, 7)
    """
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if not all(part.isdecimal() for part in parts):
        raise RecordError("numbers of lengths are meant", "such as 5,7", code="case-numbers", subject=option)
    return tuple(map(int, parts))
