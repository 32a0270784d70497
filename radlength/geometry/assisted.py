"""Which points of a path a program placed: a reader must see what a person did and what not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from radlength.errors import MarkError

CARRIED = "carried over"
"""Method of points that a person placed on another image: nobody has placed them on this one."""


@dataclass(frozen=True, slots=True)
class Assist:
    """A run of points that a program placed between a person's clicks.

    Parameters
    ----------
    first, last
        Places of the first and the last of them in the path, counted from 0.
    method
        How they were found: ``"canal trace"``, ``"instrument tip"``; or :data:`CARRIED`.
    version
        Version of the method.
    confidence
        From 0, a guess, to 1; the method says what it means.

    Raises
    ------
    MarkError
        Places that are not in order, an empty method, or a confidence outside 0 to 1.

    Examples
    --------
    >>> Assist(1, 6, "canal trace", "1", 0.9).count
    6
    """

    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}

    first: int
    last: int
    method: str
    version: str
    confidence: float

    def __post_init__(self) -> None:
        good = 0 <= self.first <= self.last and self.method.strip() and self.version.strip()
        if not (good and math.isfinite(self.confidence) and 0 <= self.confidence <= 1):
            raise MarkError(
                f"points {self.first} to {self.last} placed by {self.method!r} with confidence {self.confidence}",
                "places in order, the name of a method, its version, a confidence from 0 to 1",
                code="assist",
            )

    @property
    def count(self) -> int:
        """Number of points."""
        return self.last - self.first + 1


def check_assists(assists: Sequence[Assist], count: int, *, subject: str) -> tuple[Assist, ...]:
    """Return the assists of a path of `count` points.

    Raises
    ------
    MarkError
        They reach past its end, or two of them claim one point.
    """
    ordered = tuple(sorted(assists, key=lambda one: one.first))
    ends = [-1, *(one.last for one in ordered)]
    overlapping = any(one.first <= end for one, end in zip(ordered, ends, strict=False))
    if overlapping or ends[-1] >= count:
        raise MarkError(
            "points said to be placed by a program that are not in the path, or said so twice",
            f"places from 0 to {count - 1}, each once",
            code="assist-place",
            subject=subject,
        )
    return ordered
