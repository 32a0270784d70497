"""From older schema versions to this one, one pure step each; a newer one is refused."""

from __future__ import annotations

import reprlib
from collections.abc import Callable
from typing import Any

from radlength.errors import RecordError
from radlength.record.models import VERSION

Step = Callable[[dict[str, Any]], dict[str, Any]]


def _to_2(old: dict[str, Any]) -> dict[str, Any]:
    """Version 2 adds what a program placed and how a canal is known to be straight: nothing of either was said."""
    return old | {"version": 2}


STEPS: dict[int, Step] = {1: _to_2}
"""From version n to n + 1."""


def migrate(raw: dict[str, Any], *, name: str) -> dict[str, Any]:
    """Return the raw record in the present schema version.

    Raises
    ------
    RecordError
        The version is newer than this radlength, or none that ever was.
    """
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise RecordError(
            f"record version {reprlib.repr(version)}",
            f"1 to {VERSION}",
            "the file is left untouched",
            code="record-version",
            subject=name,
        )
    if version > VERSION:
        raise RecordError(
            f"record version {reprlib.repr(version)} is newer than this radlength ({VERSION}); left untouched",
            "",
            "update radlength",
            code="record-newer",
            subject=name,
        )
    for step in range(version, VERSION):
        raw = STEPS[step](raw)
    return raw
