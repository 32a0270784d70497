"""Pick a named row out of a table, or say which names there are. No table lives here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol, TypeVar

from radlength.errors import TradeError


class Named(Protocol):
    """A row with a plain name."""

    @property
    def name(self) -> str:
        """What it is selected by."""


Row = TypeVar("Row", bound=Named)


def choose(rows: Sequence[Row], name: str, *, kind: str, code: str) -> Row:
    """Return the row of a name.

    Parameters
    ----------
    rows
        The table.
    name
        Which row.
    kind
        What the rows are, for the message.
    code
        Code of the refusal.

    Raises
    ------
    TradeError
        If there is no such row; the message lists every name there is.
    """
    for row in rows:
        if row.name == name:
            return row
    raise TradeError(
        f"{kind} {name!r} is unknown", f"one of: {', '.join(row.name for row in rows)}", code=code
    )


def check_distance(distance_mm: float) -> float:
    """Return a distance in millimetres that can be judged.

    Raises
    ------
    TradeError
        If it is not finite.
    """
    if not math.isfinite(distance_mm):
        raise TradeError(
            f"a distance of {distance_mm} mm cannot be judged", "a finite number", code="distance-not-finite"
        )
    return distance_mm
