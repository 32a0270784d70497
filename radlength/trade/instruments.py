"""Sizes, colours, tapers and lengths of root-canal instruments (ISO 3630-1)."""

from __future__ import annotations

import math

from radlength.errors import TradeError
from radlength.trade.status import Status

SIZES: tuple[int, ...] = (
    6, 8, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90, 100, 110, 120, 130, 140,
)  # fmt: skip
"""Standard sizes: tip diameter in hundredths of a millimetre (ISO 3630-1)."""

LENGTHS_MM: tuple[float, ...] = (21.0, 25.0, 28.0, 31.0)
"""Standard lengths in millimetres (ISO 3630-1; 28 from memory)."""

LENGTH_MARKS_MM: tuple[float, ...] = (18.0, 19.0, 20.0, 22.0, 24.0)
"""Distances of depth marks from the tip in millimetres (ISO 3630-1, from memory)."""

LENGTH_TOLERANCE_MM = 0.5
"""Limit of a stamped length, rectangular, in millimetres (ISO 3630-1, from memory)."""

LENGTH_TOLERANCE_STATUS: Status = "from memory"
"""How well the limit is known: a length read on a ruler is better than a stamped one."""

_SMALL = {6: "pink", 8: "grey", 10: "purple"}
_CYCLE = ("white", "yellow", "red", "blue", "green", "black")
_COLOURS = _SMALL | dict(zip(SIZES[3:], _CYCLE * 3, strict=True))


def colour(size: int) -> str:
    """Return the colour of a size with its number beside it: a label, never a sign on its own.

    Source: ISO 3630-1; 15 to 35 read, the rest from memory.

    Raises
    ------
    TradeError
        If the size is not a standard one.

    Examples
    --------
    >>> colour(10), colour(15), colour(140)
    ('10 purple', '15 white', '140 black')
    """
    if size not in _COLOURS:
        raise TradeError(
            f"size {size} is not a standard size",
            ", ".join(map(str, SIZES)),
            "give the tip diameter in hundredths of a millimetre",
            code="size-unknown",
        )
    return f"{size:02d} {_COLOURS[size]}"


def diameter_mm(size: int, taper: float, at_mm: float) -> float:
    """Return the diameter of an instrument at a distance from its tip.

    Parameters
    ----------
    size
        Tip diameter in hundredths of a millimetre.
    taper
        Millimetres of diameter gained per millimetre of length.
    at_mm
        Distance from the tip in millimetres, 0 or more.

    Returns
    -------
    float
        Nominal diameter in millimetres: real instruments differ by their tolerance.

    Raises
    ------
    TradeError
        If size, taper or distance is not that of an instrument.

    Notes
    -----
    d(x) = size / 100 + taper × x (ISO 3630-1).

    Examples
    --------
    >>> round(diameter_mm(25, 0.02, 16), 4), round(diameter_mm(25, 0.06, 12), 4)
    (0.57, 0.97)
    """
    if not (size > 0 and 0 <= taper <= 0.2 and 0 <= at_mm < math.inf):
        raise TradeError(
            f"size {size}, taper {taper} at {at_mm} mm",
            "a positive size, a taper of 0 to 0.2 mm per mm, a distance of 0 mm or more",
            code="instrument-shape",
        )
    return size / 100 + taper * at_mm
