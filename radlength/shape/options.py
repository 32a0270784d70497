"""Options a user writes as text: instruments taken to lengths, ``25/.06@2 + 30/.04``."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from radlength.errors import TradeError
from radlength.shape.prepared import Pass, PreparedCanal
from radlength.trade.instrument_shape import Instrument, parse_instrument

TABLE_COLUMNS = ("mm", "diameter_mm")
MOST_PASSES = 12


def parse_option(
    text: str, *, tables: Mapping[str, Instrument] | None = None, before: Instrument | None = None
) -> PreparedCanal:
    """Return the canal that instruments leave.

    Parameters
    ----------
    text
        Instruments joined by ``+``, each as size/taper or the name of a table, with ``@`` and how many millimetres
        short of the working length it stops; without ``@`` it goes to the working length.
    tables
        Instruments of variable taper by name.
    before
        The canal before, round.

    Raises
    ------
    TradeError
        Not such a text.

    Examples
    --------
    >>> [(one.instrument.label, one.short_mm) for one in parse_option("25/.06@2 + 30/.04").passes]
    [('25/.06', 2.0), ('30/.04', 0.0)]
    """
    words = [word.strip() for word in text.split("+")]
    if len(words) > MOST_PASSES:
        raise TradeError(
            f"{len(words)} instruments in one option", f"up to {MOST_PASSES}", code="option-long"
        )
    passes = []
    for word in words:
        name, mark, short = word.partition("@")
        known = (tables or {}).get(name.strip())
        instrument = known or parse_instrument(name)
        try:
            passes.append(Pass(instrument, float(short) if mark else 0.0))
        except ValueError:
            raise TradeError(
                f"{short.strip()!r} after @ is no distance",
                "millimetres short of the working length: 25/.06@2",
                code="option-short",
            ) from None
    return PreparedCanal(tuple(passes), before)


def read_table(text: str, *, name: str) -> Instrument:
    r"""Return an instrument of variable taper from a CSV table with the columns mm, diameter_mm.

    Raises
    ------
    TradeError
        Not such a table, or no shape of an instrument.

    Examples
    --------
    >>> one = read_table("mm,diameter_mm\n0,0.25\n4,0.57\n16,0.9\n", name="mine")
    >>> one.label, one.size, round(one.diameter_mm(2), 2)
    ('mine', 25.0, 0.41)
    """
    rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff"))))
    rows = [[cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row)]
    if not rows or tuple(rows[0]) != TABLE_COLUMNS:
        raise _bad(name, "its first line is another")
    try:
        table = tuple((float(at), float(thick)) for at, thick in rows[1:])
    except ValueError:
        raise _bad(name, "a row is not two numbers") from None
    if not table:
        raise _bad(name, "it has no rows")
    return Instrument(round(100 * table[0][1], 4), table=table, name=name, working_mm=16.0)


def _bad(name: str, what: str) -> TradeError:
    return TradeError(
        f"no table of diameters: {what}",
        f"a CSV table with the columns {','.join(TABLE_COLUMNS)}, from the tip on",
        code="instrument-table",
        subject=name,
    )
