"""How long teeth are on average: for a question, never for a correction."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.trade.status import Status
from radlength.trade.teeth import arch, is_deciduous


@dataclass(frozen=True, slots=True)
class ToothLength:
    """Average and range of a tooth type, in millimetres.

    Parameters
    ----------
    crown_mm, root_mm
        Carving averages; a molar with unequal roots has its longest.
    overall_mm
        Their sum.
    shortest_mm, longest_mm
        Least and greatest of Black (1902), from memory.
    source
        Where the averages come from.
    status
        How well the averages are known; shortest and longest are from memory throughout.
    """

    crown_mm: float
    root_mm: float
    shortest_mm: float
    longest_mm: float
    source: str
    status: Status

    @property
    def overall_mm(self) -> float:
        """Crown and root together, in millimetres."""
        return self.crown_mm + self.root_mm


_SEEN: tuple[str, Status] = ("carving averages, Ash & Nelson", "read")
_MEMORY: tuple[str, Status] = ("carving averages, Ash & Nelson, from memory", "from memory")

RANGE_SOURCE = "Black 1902, from memory"
"""Where shortest and longest come from."""

_MAXILLARY = (
    ToothLength(10.5, 13.0, 18, 27, *_SEEN),
    ToothLength(9.0, 13.0, 17, 26, *_SEEN),
    ToothLength(10.0, 17.0, 20, 32, *_SEEN),
    ToothLength(8.5, 14.0, 17, 22.5, *_SEEN),
    ToothLength(8.5, 14.0, 16, 27, *_SEEN),
    ToothLength(7.5, 13.0, 17, 24, *_SEEN),
    ToothLength(7.0, 12.0, 16, 24, *_SEEN),
    ToothLength(6.5, 11.0, 14, 22, *_SEEN),
)
_MANDIBULAR = (
    ToothLength(9.0, 12.5, 16, 24, *_SEEN),
    ToothLength(9.5, 14.0, 18, 27, *_SEEN),
    ToothLength(11.0, 16.0, 20, 32.5, *_SEEN),
    ToothLength(8.5, 14.0, 18, 26, *_SEEN),
    ToothLength(8.0, 14.5, 18, 26, *_MEMORY),
    ToothLength(7.5, 14.0, 18, 24, *_MEMORY),
    ToothLength(7.0, 13.0, 18, 22, *_MEMORY),
    ToothLength(7.0, 11.0, 16, 20, *_MEMORY),
)


def tooth_length(iso: str) -> ToothLength | None:
    """Return average and range of a permanent tooth; ``None`` for a deciduous one.

    Examples
    --------
    >>> tooth_length("11").overall_mm
    23.5
    """
    if is_deciduous(iso):
        return None
    table = _MAXILLARY if arch(iso) == "maxillary" else _MANDIBULAR
    return table[int(iso[1]) - 1]
