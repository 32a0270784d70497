"""Limits of obturating cones (ISO 6877)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from radlength.errors import TradeError
from radlength.trade.status import Status

CONE_SOURCE: Final = "ISO 6877"
CONE_STATUS: Status = "from memory"
"""The limits were not looked up in the standard; that cones vary widely was (Moule et al. 1995)."""

SIZES_RANGE = (10, 140)


@dataclass(frozen=True, slots=True)
class ConeLimit:
    """How far the diameter of a cone may differ from the stated one.

    Parameters
    ----------
    limit_mm
        Half-width of the limits in millimetres.
    words
        The limit and where it comes from.
    """

    limit_mm: float
    words: str


def cone_limit(size: float) -> ConeLimit:
    """Return the limit of a cone's diameter by its size in hundredths of a millimetre.

    Source: ISO 6877, from memory: 0.05 mm for sizes 10 to 25, 0.07 mm for 30 to 140; a size between 25 and 30 takes
    the wider one.

    Raises
    ------
    TradeError
        A size no cone has.

    Examples
    --------
    >>> cone_limit(25).limit_mm, cone_limit(30).limit_mm
    (0.05, 0.07)
    """
    low, high = SIZES_RANGE
    if not low <= size <= high:
        raise TradeError(
            f"a cone of size {size:g}",
            f"{low} to {high} hundredths of a millimetre ({CONE_SOURCE})",
            f"write {100 * size:g} for a tip of {size:g} mm" if 0.1 <= size <= 1.4 else "",
            code="cone-size",
        )
    limit = 0.05 if size <= 25 else 0.07
    return ConeLimit(limit, f"±{limit:g} mm ({CONE_SOURCE}, {CONE_STATUS})")
