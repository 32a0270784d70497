"""Which of many pairs of lengths lie furthest apart: a length against all others at once, in memory of one row."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from radlength.length.reconcile_readings import Reading
from radlength.uncertainty.budget import Z95

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
ON_THE_EDGE = 1e-9
"""Nearer to an E_n of 1 than that a pair is compared by itself: sums in another order round differently."""


@dataclass(slots=True)
class Apart:
    """Pairs that are looked for.

    Parameters
    ----------
    most
        How many are kept by name.
    count
        How many there are.
    worst
        The places of the worst of them, the worst first.
    """

    most: int
    count: int = 0
    worst: list[tuple[int, int]] = field(default_factory=list)
    _e_n: list[float] = field(default_factory=list)

    def add(self, first: int, second: Ints, e_n: Floats) -> None:
        """Take the pairs of one length that lie beyond their intervals."""
        self.count += len(second)
        chosen = np.argsort(-e_n, kind="stable")[: self.most]
        self.keep([(first, int(place)) for place in second[chosen]], e_n[chosen].tolist())

    def keep(self, places: list[tuple[int, int]], e_n: list[float]) -> None:
        """Keep the worst of those known and these; of equal ones those that came first."""
        places, e_n = self.worst + places, self._e_n + e_n
        order = sorted(range(len(places)), key=lambda number: -e_n[number])[: self.most]
        self.worst, self._e_n = [places[n] for n in order], [e_n[n] for n in order]


class Column:
    """Lengths with one end point as columns of numbers.

    Parameters
    ----------
    readings
        All lengths.
    places
        Which of them.
    """

    def __init__(self, readings: Sequence[Reading], places: Sequence[int]) -> None:
        mine = [readings[place] for place in places]
        self.places = np.array(places, dtype=np.intp)
        self.value = np.array([r.length.value for r in mine])
        self.lower2 = np.array([r.own_arm_mm(upper=False) for r in mine]) ** 2
        self.upper2 = np.array([r.own_arm_mm(upper=True) for r in mine]) ** 2
        stages: dict[str, int] = {}
        self.stage = np.array([stages.setdefault(r.stage, len(stages)) for r in mine])
        causes: dict[str, int] = {}
        for reading in mine:
            for name in reading.shared:
                causes.setdefault(name, len(causes))
        widest = max(len(r.shared) for r in mine)
        self.cause = np.full((len(mine), widest), len(causes), dtype=np.intp)
        self.u = np.zeros((len(mine), widest))
        for row, reading in enumerate(mine):
            for slot, (name, u) in enumerate(reading.shared.items()):
                self.cause[row, slot], self.u[row, slot] = causes[name], u
        self._of_first = np.zeros(len(causes) + 1)

    def rows(self) -> Iterator[tuple[int, Ints, Floats, NDArray[np.bool_]]]:
        """Yield a length, those after it, E_n of each, and whether they are of one stage."""
        for row in range(len(self.places) - 1):
            after = slice(row + 1, None)
            yield (
                int(self.places[row]),
                self.places[after],
                self._e_n(row),
                self.stage[after] == self.stage[row],
            )

    def _e_n(self, row: int) -> Floats:
        after = slice(row + 1, None)
        apart = self.value[after] - self.value[row]
        above = self.upper2[row] + self.lower2[after]
        below = self.lower2[row] + self.upper2[after]
        own = np.where(apart >= 0, above, below)
        return np.asarray(np.abs(apart) / np.sqrt(own + Z95**2 * self._shared(row)))

    def _shared(self, row: int) -> Floats:
        """Return what causes in common add to the variance of each difference, in square millimetres."""
        after = slice(row + 1, None)
        cause, u = self.cause[row], self.u[row]
        self._of_first[cause] = u
        found: Floats = ((self.u[after] - self._of_first[self.cause[after]]) ** 2).sum(axis=1)
        self._of_first[cause] = 0.0
        for one, size in zip(cause, u, strict=True):
            if size:
                found += np.where((self.cause[after] == one).any(axis=1), 0.0, size**2)
        return found


def far_apart(
    columns: Sequence[Column], most: int, exact: Callable[[int, int], float]
) -> tuple[Apart, Apart, Apart]:
    """Return the pairs beyond their intervals, of one stage and of different stages; without any, the nearest to it.

    Parameters
    ----------
    columns
        Lengths by end point.
    most
        How many of each are kept by name.
    exact
        E_n of two lengths by their places: asked on the edge of agreement.
    """
    same, changed, nearest = Apart(most), Apart(most), Apart(1)
    for column in columns:
        for first, second, e_n, of_one_stage in column.rows():
            edge = np.flatnonzero(np.abs(e_n - 1) < ON_THE_EDGE)
            e_n[edge] = [exact(first, int(second[place])) for place in edge]
            for found, wanted in ((same, of_one_stage), (changed, ~of_one_stage)):
                beyond = wanted & (e_n > 1)
                if beyond.any():
                    found.add(first, second[beyond], e_n[beyond])
            if not same.count + changed.count:
                worst = int(np.argmax(e_n))
                nearest.keep([(first, int(second[worst]))], [float(e_n[worst])])
    return same, changed, nearest
