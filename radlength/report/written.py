"""The one place where a report, a table or a picture reaches the disk."""

from __future__ import annotations

from pathlib import Path

from radlength.clean import refused
from radlength.errors import ReportError
from radlength.whole_file import put_whole


def write_report(
    place: Path, content: bytes, what: str = "the report", *, code: str = "report-unwritable"
) -> Path:
    """Write a page, a table or a picture whole or not at all, and return where it is.

    Parameters
    ----------
    place
        See :func:`radlength.whole_file.put_whole`.
    content
        All that it holds.
    what
        What it is called where it cannot be written.
    code
        Of the error then.

    Raises
    ------
    ReportError
        It cannot be written; what was there is as it was.
    """
    try:
        put_whole(place, content)
    except OSError as exc:
        raise ReportError(
            f"{what} cannot be written: {refused(exc)}",
            remedy="check the folder and its rights",
            code=code,
            subject=str(place),
        ) from exc
    return place
