"""Published tables for the distance back from the radiographic apex."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.errors import TradeError


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
    """

    name: str
    source: str
    rows: tuple[tuple[str, float], ...]

    @property
    def observations(self) -> tuple[str, ...]:
        """What may be observed."""
        return tuple(observation for observation, _ in self.rows)

    def offset_mm(self, observation: str) -> float:
        """Return the offset of an observation in millimetres."""
        try:
            return dict(self.rows)[observation]
        except KeyError:
            raise TradeError(
                f"observation {observation!r} is not in the table {self.name!r}",
                f"one of: {', '.join(self.observations)}",
                code="observation-unknown",
            ) from None


_TABLES = (
    TerminusTable(
        "apex offset by resorption",
        "Weine's modification, in Grossman's Endodontic Practice, 13th ed.",
        (("none", 1.0), ("bone", 1.5), ("bone and root", 2.0)),
    ),
)


def terminus_tables() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(table.name for table in _TABLES)


def terminus_table(name: str) -> TerminusTable:
    """Return a table by its name.

    Examples
    --------
    >>> terminus_table("apex offset by resorption").offset_mm("bone and root")
    2.0
    """
    for table in _TABLES:
        if table.name == name:
            return table
    raise TradeError(
        f"terminus table {name!r} is unknown", f"one of: {', '.join(terminus_tables())}", code="table-unknown"
    )
