"""Every two lengths of one canal with one end point: compared when somebody looks, the worst found without that."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, overload

from radlength.length.reconcile_far import Apart, Column, far_apart
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.uncertainty.budget import Z95


@dataclass(frozen=True, slots=True)
class Pair:
    """Two lengths compared.

    Parameters
    ----------
    first, second
        Their names.
    difference
        Second less first, with its interval.
    e_n
        Difference over its expanded uncertainty on the side that faces zero; above 1 they disagree.
    same_stage
        Whether both were measured at one stage of the work.
    """

    first: str
    second: str
    difference: Quantity
    e_n: float
    same_stage: bool = True

    def as_dict(self) -> dict[str, Any]:
        """Return the pair as plain data."""
        return {
            "first": self.first,
            "second": self.second,
            "difference": self.difference.as_dict(),
            "e_n": self.e_n,
            "same_stage": self.same_stage,
        }


@dataclass(frozen=True, slots=True)
class _Own:
    """What a length brings into every comparison: worked out once."""

    u_mm: float
    lower_mm: float
    upper_mm: float


class Pairs(Sequence[Pair]):
    """Every two lengths with one end point, in the order of the lengths; each is compared when it is asked for.

    Parameters
    ----------
    readings
        Lengths, each brought to its end point.
    ends
        The end point of each; only lengths with one end point are compared.
    """

    def __init__(self, readings: Sequence[Reading], ends: Sequence[str]) -> None:
        self._readings = tuple(readings)
        self._own = tuple(
            _Own(r.own_u_mm, r.own_arm_mm(upper=False), r.own_arm_mm(upper=True)) for r in self._readings
        )
        self._groups: dict[str, list[int]] = {}
        self._rank: list[int] = []
        for place, end in enumerate(ends):
            group = self._groups.setdefault(end, [])
            self._rank.append(len(group))
            group.append(place)
        self._ends = tuple(ends)
        later = (len(self._groups[end]) - rank - 1 for end, rank in zip(ends, self._rank, strict=True))
        self._until = tuple(accumulate(later))

    def __len__(self) -> int:
        return self._until[-1] if self._until else 0

    @overload
    def __getitem__(self, number: int) -> Pair: ...
    @overload
    def __getitem__(self, number: slice) -> tuple[Pair, ...]: ...
    def __getitem__(self, number: int | slice) -> Pair | tuple[Pair, ...]:
        if isinstance(number, slice):
            return tuple(self[one] for one in range(*number.indices(len(self))))
        place = range(len(self))[number]
        first = bisect_right(self._until, place)
        before = self._until[first - 1] if first else 0
        group = self._groups[self._ends[first]]
        return self._pair(first, group[self._rank[first] + 1 + place - before])

    def __iter__(self) -> Iterator[Pair]:
        for first in range(len(self._readings)):
            yield from self.with_first(first)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"<{len(self)} pairs of {len(self._readings)} lengths>"

    def with_first(self, first: int) -> Iterator[Pair]:
        """Yield the pairs of a length, by its place, with each that comes after it."""
        group = self._groups[self._ends[first]]
        return (self._pair(first, second) for second in group[self._rank[first] + 1 :])

    def apart(self, most: int) -> tuple[Apart, Apart, Apart]:
        """Return what :func:`far_apart` finds among the pairs."""
        columns = [Column(self._readings, group) for group in self._groups.values()]
        return far_apart(columns, most, lambda first, second: self._pair(first, second).e_n)

    def at(self, places: Sequence[tuple[int, int]]) -> list[Pair]:
        """Return the pairs of these lengths, the worst first."""
        return sorted((self._pair(*place) for place in sorted(places)), key=lambda pair: -pair.e_n)

    def _pair(self, first: int, second: int) -> Pair:
        """Return two lengths compared: a difference with what they share counted once, as in ``linear``."""
        a, b, own_a, own_b = (
            self._readings[first],
            self._readings[second],
            self._own[first],
            self._own[second],
        )
        common = {name: -u for name, u in a.shared.items()}
        for name, u in b.shared.items():
            common[name] = common.get(name, 0.0) + u
        shared = sum(u**2 for u in common.values())
        value = b.length.value - a.length.value
        lower = math.sqrt(own_a.upper_mm**2 + own_b.lower_mm**2 + Z95**2 * shared)
        upper = math.sqrt(own_a.lower_mm**2 + own_b.upper_mm**2 + Z95**2 * shared)
        u_mm = math.sqrt(own_a.u_mm**2 + own_b.u_mm**2 + shared)
        difference = Quantity(value, u_mm, value - lower, value + upper)
        arm = difference.lower_arm if value >= 0 else difference.upper_arm
        return Pair(a.name, b.name, difference, abs(value) / arm, a.stage == b.stage)
