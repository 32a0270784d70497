"""How much of a path lies in the crown, where no canal need be seen.

Roots are 10 to 17 mm long, teeth 20 mm and more: a long path begins at a cusp, a short one at the orifice of its canal
or below it.
"""

from __future__ import annotations

from radlength.tracing.corridor import ROW_MM

ROOT_ALONE_MM, WHOLE_MM = 13.0, 18.0
"""A path up to the first is taken to run in a root alone, one from the second on to begin at a cusp (common practice,
no source)."""


def crown_share(rows: int, usual: float) -> float:
    """Return the part of a path, from its first click, that lies in the crown.

    Parameters
    ----------
    rows
        Rows of the evidence along the path, one every 0.15 mm.
    usual
        That part where the path begins at a cusp; it shrinks to nothing for a path as long as a root.

    Examples
    --------
    >>> [round(crown_share(rows, 1 / 3), 2) for rows in (80, 103, 150)]
    [0.0, 0.16, 0.33]
    """
    length_mm = rows * ROW_MM
    return usual * min(max((length_mm - ROOT_ALONE_MM) / (WHOLE_MM - ROOT_ALONE_MM), 0.0), 1.0)
