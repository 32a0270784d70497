"""Published tables for the distance back from the radiographic apex. None is a default."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.errors import TradeError
from radlength.trade.choose import choose
from radlength.trade.status import Status


@dataclass(frozen=True, slots=True)
class TerminusTable:
    """A table from what was observed to an offset in millimetres.

    Parameters
    ----------
    name
        Plain name it is selected by.
    source
        Who published it.
    rows
        Pairs of observation and offset in millimetres.
    status
        How well the values are known.
    """

    name: str
    source: str
    rows: tuple[tuple[str, float], ...]
    status: Status

    @property
    def observations(self) -> tuple[str, ...]:
        """What may be observed."""
        return tuple(observation for observation, _ in self.rows)

    def offset_mm(self, observation: str) -> float:
        """Return the offset of an observation in millimetres.

        Raises
        ------
        TradeError
            If the table has no such observation.
        """
        for row, offset in self.rows:
            if row == observation:
                return offset
        raise TradeError(
            f"observation {observation!r} is not in the table {self.name!r}",
            f"one of: {', '.join(self.observations)}",
            code="observation-unknown",
        )


_TABLES = (
    TerminusTable(
        "apex offset by resorption",
        "Weine's modification, in Grossman's Endodontic Practice, 13th ed.",
        (("none", 1.0), ("bone", 1.5), ("bone and root", 2.0)),
        "read",
    ),
)


def terminus_tables() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(table.name for table in _TABLES)


def terminus_table(name: str) -> TerminusTable:
    """Return a table by its name.

    Raises
    ------
    TradeError
        If there is no such table.

    Examples
    --------
    >>> terminus_table("apex offset by resorption").offset_mm("bone and root")
    2.0
    """
    return choose(_TABLES, name, kind="terminus table", code="table-unknown")
