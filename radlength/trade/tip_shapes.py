"""How far the tip of an instrument reaches beyond the edge that is seen on a radiograph, by the form of its point.

A point fades: it lets more of the beam pass than the shaft, so the middle of the visible edge lies short of the tip.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from radlength.errors import TradeError
from radlength.trade.status import Status

TIP_FORMS: dict[str, str] = {
    "short cone": "a cone 0.15 mm long, whatever the size",
    "cone": "a cone of 75 degrees, as long as 0.65 of its diameter",
    "rounded": "half a ball",
}
"""Forms of a point. 75 degrees is the middle of the range for hand instruments (ISO 3630-1, from memory)."""

TAPERS: tuple[float, ...] = (0.02, 0.04, 0.06)
"""Tapers of the columns of the table."""

OFFSET_SOURCE = "simulated instruments alone in dentine, by tests/reference/tip_offsets.py"
OFFSET_STATUS: Status = "computed"
"""Seen on no real instrument: real points differ by maker and by wear."""

BEHIND_MM = 0.012
"""SD of the offset that what lies behind a tip adds, on whole simulated radiographs the table was not made from."""

USUAL_SIZES = (8, 40)
"""What an instrument of unknown size is taken to lie between: those used to tell a length (common practice)."""

_MM: dict[str, dict[int, tuple[float, float, float, float]]] = {
    "short cone": {
        6: (0.066, 0.077, 0.064, 0.025),
        8: (0.080, 0.078, 0.084, 0.010),
        10: (0.091, 0.090, 0.087, 0.001),
        15: (0.088, 0.088, 0.088, 0.002),
        20: (0.085, 0.087, 0.088, 0.002),
        25: (0.084, 0.084, 0.087, 0.003),
        30: (0.083, 0.084, 0.088, 0.002),
        40: (0.084, 0.084, 0.084, 0.002),
        60: (0.080, 0.079, 0.081, 0.006),
        80: (0.055, 0.055, 0.055, 0.010),
    },
    "cone": {
        6: (0.021, 0.029, 0.020, 0.009),
        8: (0.029, 0.026, 0.028, 0.004),
        10: (0.043, 0.044, 0.043, 0.001),
        15: (0.062, 0.062, 0.063, 0.001),
        20: (0.079, 0.080, 0.081, 0.001),
        25: (0.096, 0.095, 0.098, 0.002),
        30: (0.112, 0.113, 0.119, 0.002),
        40: (0.147, 0.146, 0.146, 0.003),
        60: (0.209, 0.208, 0.205, 0.006),
        80: (0.215, 0.214, 0.212, 0.009),
    },
    "rounded": {
        6: (0.003, 0.010, 0.003, 0.009),
        8: (0.013, 0.010, 0.011, 0.003),
        10: (0.020, 0.021, 0.021, 0.001),
        15: (0.023, 0.024, 0.026, 0.001),
        20: (0.028, 0.030, 0.031, 0.002),
        25: (0.032, 0.033, 0.034, 0.002),
        30: (0.037, 0.038, 0.039, 0.002),
        40: (0.046, 0.046, 0.047, 0.003),
        60: (0.057, 0.058, 0.059, 0.005),
        80: (0.046, 0.047, 0.047, 0.007),
    },
}
"""Millimetres by form and size at each of the tapers, and the SD over unsharpness, pixels, dentine and tilt."""


@dataclass(frozen=True, slots=True)
class TipOffset:
    """How far a tip lies beyond the middle of the edge that is seen.

    Parameters
    ----------
    mm
        Millimetres along the instrument, on the detector; positive toward the apex.
    u_mm
        Standard uncertainty; the larger, the less is known of the instrument.
    words
        What was known, as one sentence.
    status
        How well the table is known.
    """

    mm: float
    u_mm: float
    words: str
    status: Status = OFFSET_STATUS


def tip_offset(
    size: float | None = None, taper: float | None = None, tip_form: str | None = None
) -> TipOffset:
    """Return how far a tip lies beyond the middle of the edge that is seen.

    Parameters
    ----------
    size
        Tip diameter in hundredths of a millimetre, or ``None`` where it is not known.
    taper
        Millimetres of diameter gained per millimetre of length, or ``None`` for 0.02. It moves the offset by less
        than 0.01 mm.
    tip_form
        One of :data:`TIP_FORMS`, or ``None`` where it is not known.

    Notes
    -----
    For a thin point the offset is the length of steel that is missing, the integral of 1 - (d(x) / d)^2 over the
    point: two thirds of a cone, a third of the radius of half a ball. What is not known counts as a rectangle over
    what it may be.

    Raises
    ------
    TradeError
        A size outside the table, a taper of no instrument, or an unknown form.

    Examples
    --------
    >>> known = tip_offset(15, 0.02, "cone")
    >>> print(f"{known.mm:.3f} {known.u_mm:.3f}")
    0.062 0.012
    >>> unknown = tip_offset(15)
    >>> print(f"{unknown.mm:.3f} {unknown.u_mm:.3f}")
    0.055 0.022
    """
    forms, sizes = _forms(tip_form), _sizes(size)
    column = _taper(taper)
    found = [_between(_MM[form], one, column) for form in forms for one in sizes]
    low, high = min(mm for mm, _ in found), max(mm for mm, _ in found)
    spread = math.hypot(BEHIND_MM, max(sd for _, sd in found), (high - low) / (2 * math.sqrt(3)))
    return TipOffset((low + high) / 2, spread, _words(size, tip_form))


def _forms(tip_form: str | None) -> tuple[str, ...]:
    if tip_form is None:
        return tuple(TIP_FORMS)
    if tip_form not in TIP_FORMS:
        raise TradeError(
            f"a point of the form {tip_form!r}",
            f"one of: {', '.join(TIP_FORMS)}",
            "leave it out where it is not known",
            code="tip-form",
        )
    return (tip_form,)


def _sizes(size: float | None) -> tuple[float, ...]:
    if size is None:
        return USUAL_SIZES
    rows = next(iter(_MM.values()))
    if not min(rows) <= size <= max(rows):
        raise TradeError(
            f"size {size}",
            f"{min(rows)} to {max(rows)} hundredths of a millimetre at the tip",
            "leave it out where it is another",
            code="tip-size",
        )
    return (size,)


def _taper(taper: float | None) -> float:
    if taper is None:
        return TAPERS[0]
    if not 0 <= taper <= 0.2:
        raise TradeError(
            f"a taper of {taper}",
            "0 to 0.2 mm per mm",
            "0.02 is what a hand instrument has",
            code="tip-taper",
        )
    return min(max(taper, TAPERS[0]), TAPERS[-1])


def _between(
    rows: dict[int, tuple[float, float, float, float]], size: float, taper: float
) -> tuple[float, float]:
    """Return offset and SD, straight between the rows and columns of a table."""
    low, high = next((a, b) for a, b in pairwise(sorted(rows)) if a <= size <= b)
    share = (size - low) / (high - low)
    first, second = (_across(rows[one], taper) for one in (low, high))
    return first + share * (second - first), max(rows[low][3], rows[high][3])


def _across(row: tuple[float, float, float, float], taper: float) -> float:
    step = TAPERS[1] - TAPERS[0]
    left = min(int((taper - TAPERS[0]) / step), len(TAPERS) - 2)
    share = (taper - TAPERS[left]) / step
    return row[left] + share * (row[left + 1] - row[left])


def _words(size: float | None, tip_form: str | None) -> str:
    point = "a point of unknown form" if tip_form is None else f"a point of the form {tip_form}"
    told = "unknown size" if size is None else f"size {size:g}"
    return f"The tip was placed for {point} and {told}."
