"""The shape of one instrument: tip size, constant or variable taper, diameter along it (ISO 3630-1).

What an instrument leaves behind in a canal stands in :mod:`radlength.shape`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from radlength.errors import TradeError
from radlength.trade.instruments import SIZES, colour

WORKING_MM = 16.0
"""Shortest working part of an instrument in millimetres (ISO 3630-1, read): the taper ends there, the shaft goes on."""

SMALLEST_SIZE, LARGEST_SIZE = 4, 160
LARGEST_TAPER = 0.2
LARGEST_MM = 3.0
"""No root-canal instrument is thicker (common practice, no source)."""

Row = tuple[float, float]
"""(distance from the tip, diameter), both in millimetres."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """A size and a taper, or a table of diameters.

    Parameters
    ----------
    size
        Tip diameter in hundredths of a millimetre; sizes between the standard ones are allowed.
    taper
        Millimetres of diameter gained per millimetre of length; ``None`` where a table gives the diameters.
    table
        (distance from the tip, diameter) in millimetres, the first at the tip; straight between the rows.
    name
        What the user calls it; else size and taper.
    working_mm
        Length of the tapered part in millimetres; beyond it the shaft keeps the last diameter.

    Raises
    ------
    TradeError
        No shape of an instrument, or one in the wrong unit.

    Examples
    --------
    >>> thin, thick = Instrument(30, 0.04), Instrument(25, 0.06)
    >>> f"{thin.diameter_mm(16):.2f} {thick.diameter_mm(16):.2f}"
    '0.94 1.21'
    >>> Instrument(25, table=((0, 0.25), (4, 0.57), (16, 0.9))).label
    '25 variable taper'
    """

    size: float
    taper: float | None = None
    table: tuple[Row, ...] = ()
    name: str = ""
    working_mm: float = WORKING_MM
    rows: tuple[Row, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        _check_size(self.size)
        object.__setattr__(self, "table", tuple((float(x), float(d)) for x, d in self.table))
        if (self.taper is None) == (not self.table):
            raise TradeError(
                f"size {self.size:g} with {'neither' if self.taper is None else 'both'} taper and table",
                "a constant taper, or a table of diameters",
                "give one of the two",
                code="instrument-taper",
            )
        if not (math.isfinite(self.working_mm) and 4 <= self.working_mm <= 35):
            raise TradeError(
                f"a working part of {self.working_mm} mm", "4 to 35 mm", code="instrument-working-part"
            )
        object.__setattr__(self, "rows", self._rows())

    def _rows(self) -> tuple[Row, ...]:
        if self.taper is not None:
            check_taper(self.taper)
            thick = self.size / 100 + self.taper * self.working_mm
            rows: tuple[Row, ...] = ((0.0, self.size / 100), (self.working_mm, thick))
        else:
            _check_table(self.table, self.size)
            rows = self.table
        if max(d for _, d in rows) > LARGEST_MM:
            raise TradeError(
                f"{self.label} would be {max(d for _, d in rows):.2f} mm thick",
                f"up to {LARGEST_MM:g} mm",
                "check size and taper",
                code="instrument-thick",
            )
        return rows

    @property
    def label(self) -> str:
        """Name, or size and taper: ``25/.06``."""
        if self.name:
            return self.name
        if self.taper is None:
            return f"{self.size:02g} variable taper"
        return f"{self.size:02g}/{f'{self.taper:.3f}'.rstrip('0').lstrip('0') if self.taper else '.00'}"

    @property
    def colour(self) -> str:
        """Colour of the standard with the number beside it; empty for a size that is not standard."""
        return colour(int(self.size)) if self.size in SIZES else ""

    @property
    def steepest(self) -> float:
        """Largest taper in mm per mm."""
        steps = zip(self.rows, self.rows[1:], strict=False)
        return max((d1 - d0) / (x1 - x0) for (x0, d0), (x1, d1) in steps)

    def diameter_mm(self, at_mm: float) -> float:
        """Return the nominal diameter at a distance from the tip in millimetres; beyond the table the last one.

        Raises
        ------
        TradeError
            A distance that is negative or not finite.
        """
        if not 0 <= at_mm < math.inf:
            raise TradeError(
                f"{at_mm} mm from the tip of {self.label}",
                "0 mm or more",
                "measure from the tip towards the handle",
                code="instrument-distance",
            )
        if self.taper is not None and at_mm <= self.working_mm:
            return self.size / 100 + self.taper * at_mm
        return _between(self.rows, at_mm)

    def as_dict(self) -> dict[str, object]:
        """Return the instrument as plain data."""
        return {
            "label": self.label,
            "size": self.size,
            "taper": self.taper,
            "table_mm": [list(row) for row in self.table] or None,
            "colour": self.colour or None,
            "working_part_mm": self.working_mm,
        }


def parse_instrument(text: str, *, working_mm: float = WORKING_MM) -> Instrument:
    """Return the instrument of ``size/taper``, the taper in mm per mm.

    Raises
    ------
    TradeError
        Not such a text, or no instrument.

    Examples
    --------
    >>> parse_instrument("25/.06").label, parse_instrument("8/0.02").label
    ('25/.06', '08/.02')
    """
    size, mark, taper = text.strip().partition("/")
    try:
        if not mark:
            raise ValueError
        numbers = float(size), float(taper)
    except ValueError:
        raise TradeError(
            f"{text!r} is no size and taper",
            "size/taper, as 25/.06: a tip of 0.25 mm that gains 0.06 mm per mm",
            code="instrument-text",
        ) from None
    return Instrument(numbers[0], numbers[1], working_mm=working_mm)


def tapers_to_table(size: float, pieces: Sequence[tuple[float, float]]) -> tuple[Row, ...]:
    """Return the table of an instrument whose taper changes along it.

    Parameters
    ----------
    size
        Tip diameter in hundredths of a millimetre.
    pieces
        (taper, up to which distance from the tip in millimetres), from the tip on.

    Raises
    ------
    TradeError
        A taper of no instrument, or distances that do not rise.

    Examples
    --------
    >>> tapers_to_table(25, [(0.08, 3), (0.04, 16)])
    ((0.0, 0.25), (3.0, 0.49), (16.0, 1.01))
    """
    _check_size(size)
    rows: list[Row] = [(0.0, size / 100)]
    for taper, until in pieces:
        check_taper(taper)
        at, thick = rows[-1]
        if not at < until < math.inf:
            raise TradeError(
                f"a taper up to {until} mm after one up to {at:g} mm",
                "distances from the tip that rise",
                code="instrument-table",
            )
        rows.append((float(until), round(thick + taper * (until - at), 6)))
    return tuple(rows)


def check_taper(taper: float) -> None:
    """Refuse a taper of no instrument.

    Raises
    ------
    TradeError
        Negative, not a number, or above 0.2; a whole number is taken for per cent in the remedy.
    """
    if 0 <= taper <= LARGEST_TAPER:
        return
    remedy = (
        f"write {taper / 100:g} for {taper:g} %" if 1 <= taper <= 20 else "give millimetres per millimetre"
    )
    raise TradeError(
        f"a taper of {taper:g} mm per mm", f"0 to {LARGEST_TAPER:g}", remedy, code="instrument-taper"
    )


def _check_size(size: float) -> None:
    if SMALLEST_SIZE <= size <= LARGEST_SIZE:
        return
    meant = round(100 * size, 2)
    remedy = (
        f"write {meant:g} for a tip of {size:g} mm"
        if SMALLEST_SIZE <= meant <= LARGEST_SIZE and size < 2
        else "give the tip diameter in hundredths of a millimetre"
    )
    raise TradeError(
        f"size {size:g}",
        f"{SMALLEST_SIZE} to {LARGEST_SIZE}, in hundredths of a millimetre",
        remedy,
        code="size-range",
    )


def _check_table(table: Sequence[Row], size: float) -> None:
    allowed = (
        "(distance from the tip, diameter) in millimetres: from 0, distances rising, diameters 0.04 to 3 mm"
    )
    distances = [x for x, _ in table]
    rising = all(a < b for a, b in itertools.pairwise(distances))
    if len(table) < 2 or distances[0] != 0 or not rising or not math.isfinite(distances[-1]):
        raise TradeError(
            f"a table of diameters at {', '.join(f'{x:g}' for x in distances)} mm",
            allowed,
            code="instrument-table",
        )
    for at, thick in table:
        if not 0.04 <= thick <= LARGEST_MM:
            remedy = f"write {thick / 100:g} for {thick:g} hundredths" if 4 <= thick <= 300 else ""
            raise TradeError(
                f"a diameter of {thick:g} mm at {at:g} mm", allowed, remedy, code="instrument-table"
            )
    if abs(table[0][1] - size / 100) > 0.005:
        raise TradeError(
            f"a table that starts with {table[0][1]:g} mm for size {size:g}",
            "the tip diameter first: size over 100",
            "check the size, and that the table starts at the tip, not at the handle",
            code="instrument-table",
        )


def _between(rows: Sequence[Row], at_mm: float) -> float:
    for (x0, d0), (x1, d1) in itertools.pairwise(rows):
        if at_mm <= x1:
            return d0 + (d1 - d0) * (at_mm - x0) / (x1 - x0)
    return rows[-1][1]
