"""Where preparation and filling should end: an offset that somebody stated, never a silent default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from radlength.errors import MarkError
from radlength.geometry.number import is_number
from radlength.trade import terminus_table


@dataclass(frozen=True, slots=True)
class Terminus:
    """The stated distance back from the radiographic apex.

    Parameters
    ----------
    offset_mm
        The clinician's own offset in millimetres, 0 to 5. Exact by definition.
    table
        Name of a published table, see :func:`radlength.trade.terminus_tables`.
    observation
        What was seen, a row of that table. It is stored, and the offset follows from it.

    Raises
    ------
    MarkError
        Neither or half of a table given, an offset out of range, or both given and unequal.
    TradeError
        No such table or observation.

    Examples
    --------
    >>> Terminus(offset_mm=1.0).distance_mm
    1.0
    >>> Terminus(table="apex offset by resorption", observation="bone").distance_mm
    1.5
    """

    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}

    offset_mm: float | None = None
    table: str | None = None
    observation: str | None = None

    def __post_init__(self) -> None:
        if (self.table is None) != (self.observation is None):
            raise MarkError(
                "a terminus table without its observation, or an observation without its table",
                "both together, or an offset in millimetres",
                code="terminus-half",
            )
        if self.offset_mm is None and self.table is None:
            raise MarkError(
                "a terminus that says nothing",
                "an offset in millimetres, or a table with an observation",
                "state one, or leave the terminus out: then there is no working length",
                code="terminus-empty",
            )
        if self.offset_mm is not None and not (is_number(self.offset_mm) and 0 <= self.offset_mm <= 5):
            raise MarkError(
                f"a terminus offset of {self.offset_mm!r} mm",
                "0 to 5 mm back from the radiographic apex",
                code="terminus-offset",
            )
        derived = self._derived_mm()
        if derived is not None and self.offset_mm is not None and abs(derived - self.offset_mm) > 1e-9:
            raise MarkError(
                f"terminus offset {self.offset_mm} mm, but table {self.table!r} gives {derived} mm for "
                f"{self.observation!r}",
                "one of the two, or equal values",
                code="terminus-unequal",
            )

    def _derived_mm(self) -> float | None:
        if self.table is None or self.observation is None:
            return None
        return terminus_table(self.table).offset_mm(self.observation)

    @property
    def distance_mm(self) -> float:
        """Distance back from the radiographic apex in millimetres."""
        derived = self._derived_mm()
        return derived if derived is not None else float(self.offset_mm or 0.0)

    @property
    def words(self) -> str:
        """The rule and its source in words."""
        if self.table is None:
            return f"{self.distance_mm:g} mm short of the radiographic apex (clinician's own offset)"
        source = terminus_table(self.table).source
        return (
            f"{self.distance_mm:g} mm short of the radiographic apex "
            f"({self.table}, observed: {self.observation}; {source})"
        )
