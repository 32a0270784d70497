"""Which points of a path a person placed, and what stays of a program's share when the path is edited."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from radlength.geometry import CARRIED, Assist, Point


def handles(path: Sequence[Point], assists: Sequence[Assist]) -> tuple[Point, ...]:
    """Return the points a person can take hold of: those a person placed, on another image too, and both ends.

    Parameters
    ----------
    path
        (row, column) pixels.
    assists
        Which of them a program placed.

    Examples
    --------
    >>> handles([(0, 0), (1, 0), (2, 0), (3, 0)], [Assist(1, 2, "canal trace", "1", 0.9)])
    ((0, 0), (3, 0))
    """
    placed = {n for one in assists if one.method != CARRIED for n in range(one.first, one.last + 1)}
    ends = (0, len(path) - 1)
    return tuple(point for n, point in enumerate(path) if n not in placed or n in ends)


def carried(new: Sequence[Point], old: Sequence[Point], assists: Sequence[Assist]) -> tuple[Assist, ...]:
    """Return the assists of an edited path: a point that has not moved is still the program's.

    Parameters
    ----------
    new, old
        (row, column) pixels after and before the edit.
    assists
        Which points of `old` a program placed.

    Examples
    --------
    >>> old = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]
    >>> tip = Assist(1, 2, "instrument tip", "1", 0.9)
    >>> [(one.first, one.last) for one in carried([(0.0, 1.0), (2.0, 0.0)], old, [tip])]
    [(1, 1)]
    """
    whose = {old[n]: one for one in assists for n in range(one.first, min(one.last, len(old) - 1) + 1)}
    runs = []
    for one, places in groupby(range(len(new)), key=lambda n: whose.get(new[n])):
        where = list(places)
        if one is not None:
            runs.append(replace(one, first=where[0], last=where[-1]))
    return tuple(runs)
