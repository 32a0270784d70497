"""What instruments leave behind in a canal: its diameter at every millimetre, where two cross, and volumes.

Every canal here is round and follows the instrument: a stated ideal, not a measurement. Distances run from the end of
the working length towards the crown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from radlength.errors import TradeError
from radlength.trade.instrument_shape import Instrument, Row

FloatArray = NDArray[np.float64]
_GAUSS = 0.5 / math.sqrt(3)


@dataclass(frozen=True, slots=True)
class Pass:
    """An instrument that was, or would be, taken to a length.

    Parameters
    ----------
    instrument
        Its shape.
    short_mm
        How far its tip stays short of the end of the working length, in millimetres, 0 or more.

    Raises
    ------
    TradeError
        A distance that is negative, or larger than any canal.
    """

    instrument: Instrument
    short_mm: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.short_mm <= 25:
            raise TradeError(
                f"{self.instrument.label} taken {self.short_mm} mm short of the working length",
                "0 to 25 mm",
                "a tip beyond the working length is never a preparation: check the set length",
                code="pass-short",
            )

    def diameter_mm(self, at_mm: float) -> float:
        """Return the diameter it leaves at a distance from the end of the working length; 0 where it never was."""
        along = at_mm - self.short_mm
        return max((d for _, d in _cut(swept_rows(self.instrument), along)), default=0.0)


@dataclass(frozen=True, slots=True)
class PreparedCanal:
    """A round canal as instruments leave it.

    Parameters
    ----------
    passes
        Instruments and where each stopped.
    before
        The canal before, as the shape of an instrument whose tip is at the end of the working length; ``None`` where
        nothing is stated.

    Examples
    --------
    >>> canal = PreparedCanal((Pass(Instrument(25, 0.06)), Pass(Instrument(30, 0.04))))
    >>> [round(canal.diameter_mm(x), 2) for x in (0, 2.5, 16)]
    [0.3, 0.4, 1.21]
    """

    passes: tuple[Pass, ...]
    before: Instrument | None = None

    def diameter_mm(self, at_mm: float) -> float:
        """Return the diameter at a distance from the end of the working length; 0 where nothing is stated."""
        made = max((one.diameter_mm(at_mm) for one in self.passes), default=0.0)
        return max(made, self.before.diameter_mm(at_mm)) if self.before is not None else made

    def profile_mm(self, length_mm: float, step_mm: float = 1.0) -> tuple[FloatArray, FloatArray]:
        """Return distances from the end of the working length and the diameter at each, shape (N,) both."""
        at = distances_mm(length_mm, step_mm)
        return at, np.array([self.diameter_mm(float(x)) for x in at])

    def volume_mm3(self, length_mm: float) -> float:
        """Return the volume from the end of the working length up to a length, exactly for straight-sided pieces."""
        return _integral([self], length_mm, lambda d: math.pi / 4 * d[0] ** 2)

    def removed_mm3(self, length_mm: float) -> float:
        """Return the volume that is cut from the stated canal.

        Raises
        ------
        TradeError
            No canal before is stated.
        """
        if self.before is None:
            raise TradeError(
                "no canal before is stated",
                "a round canal by size and taper",
                "state one, as 10/.02",
                code="canal-before",
            )
        return self.volume_mm3(length_mm) - PreparedCanal((Pass(self.before),)).volume_mm3(length_mm)

    @property
    def shapes(self) -> tuple[tuple[float, tuple[Row, ...]], ...]:
        """Every piece: (where it starts, rows from there)."""
        made = [(one.short_mm, swept_rows(one.instrument)) for one in self.passes]
        return (*made, *([(0.0, swept_rows(self.before))] if self.before is not None else []))


def distances_mm(length_mm: float, step_mm: float) -> FloatArray:
    """Return 0, step, 2 step ... up to a length.

    Raises
    ------
    TradeError
        A length or a step of no canal.
    """
    if not (0 < length_mm <= 40 and 0.05 <= step_mm <= 5):
        raise TradeError(
            f"steps of {step_mm} mm over {length_mm} mm",
            "a length up to 40 mm, steps of 0.05 to 5 mm",
            "give millimetres",
            code="profile-steps",
        )
    return np.arange(0.0, length_mm + 1e-9, step_mm)


def swept_rows(instrument: Instrument) -> tuple[Row, ...]:
    """Return the table of what an instrument leaves: never thinner than what passed before, the tip side first.

    Examples
    --------
    >>> swept_rows(Instrument(20, table=((0, 0.2), (4, 0.6), (8, 0.4))))
    ((0.0, 0.2), (4.0, 0.6), (8.0, 0.6))
    """
    rows = [instrument.rows[0]]
    for (x0, d0), (x1, d1) in pairwise(instrument.rows):
        widest = rows[-1][1]
        if d1 > widest > d0:
            rows.append((x0 + (x1 - x0) * (widest - d0) / (d1 - d0), widest))
        rows.append((x1, max(widest, d1)))
    return tuple(rows)


def crossings_mm(one: PreparedCanal, other: PreparedCanal, length_mm: float) -> list[float]:
    """Return where two canals are equally wide, in millimetres from the end of the working length.

    Examples
    --------
    >>> thin, thick = (PreparedCanal((Pass(Instrument(*i)),)) for i in ((30, 0.04), (25, 0.06)))
    >>> [round(x, 3) for x in crossings_mm(thin, thick, 16)]
    [2.5]
    """
    found: list[float] = []
    for low, high in pairwise(_breaks([one, other], length_mm)):
        inner = [low + (high - low) * s for s in (1e-6, 1 - 1e-6)]
        first, last = (one.diameter_mm(x) - other.diameter_mm(x) for x in inner)
        tiny = 1e-9
        if abs(first) < tiny and abs(last) < tiny:
            continue
        if first * last < 0:
            found.append(inner[0] + (inner[1] - inner[0]) * first / (first - last))
        elif min(abs(first), abs(last)) < 3e-6 * max(abs(first), abs(last)):  # they meet at a break
            found.append(low if abs(first) < abs(last) else high)
    kept: list[float] = []
    for place in sorted(found):
        if not kept or place - kept[-1] > 1e-4:
            kept.append(place)
    return kept


def difference_mm3(one: PreparedCanal, other: PreparedCanal, length_mm: float) -> float:
    """Return the volume of one canal less that of another, over the same length."""
    return one.volume_mm3(length_mm) - other.volume_mm3(length_mm)


def _integral(canals: Sequence[PreparedCanal], length_mm: float, area: object) -> float:
    """Return the integral of a quadratic of the diameters: two Gauss nodes are exact between breaks."""
    distances_mm(length_mm, 1.0)
    total = 0.0
    for low, high in pairwise(_breaks(canals, length_mm)):
        middle, half = (low + high) / 2, high - low
        for at in (middle - _GAUSS * half, middle + _GAUSS * half):
            total += half / 2 * area([canal.diameter_mm(at) for canal in canals])  # type: ignore[operator]
    return total


def _breaks(canals: Sequence[PreparedCanal], length_mm: float) -> list[float]:
    """Return every distance where a diameter may have a kink or a step, 0 and the length included."""
    shapes = [shape for canal in canals for shape in canal.shapes]
    places = {start + x for start, rows in shapes for x, _ in rows} | {0.0, length_mm}
    places = {x for x in places if 0 <= x <= length_mm}
    for low, high in pairwise(sorted(places)):
        inner = low + 1e-9 * (high - low), high - 1e-9 * (high - low)
        for a, b in combinations(shapes, 2):
            first, last = (_at(a, x) - _at(b, x) for x in inner)
            if first * last < 0:
                places.add(low + (high - low) * first / (first - last))
    return sorted(places)


def _at(shape: tuple[float, tuple[Row, ...]], at_mm: float) -> float:
    start, rows = shape
    return max((d for _, d in _cut(rows, at_mm - start)), default=0.0)


def _cut(rows: Sequence[Row], along: float) -> list[Row]:
    """Return the row at a distance along rows that never fall; none before the first."""
    if along < -1e-9:
        return []
    for (x0, d0), (x1, d1) in pairwise(rows):
        if along <= x1:
            return [(along, d0 + (d1 - d0) * max(along - x0, 0.0) / (x1 - x0))]
    return [(along, rows[-1][1])]
