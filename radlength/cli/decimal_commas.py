"""Points typed with decimal commas: ``278,5 513,2`` is one point to who types it, and two to who reads ``row,column``.

Nothing tells in general. What does: a fraction that begins with 0, a semicolon after every second word, columns that
are of one digit throughout, or columns of two digits on a way to and fro where two words for a point make a plain way.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from radlength.errors import MarkError

Pair = tuple[float, float]

SEVERAL = 4
"""Words that would be two points; two words are a short path as likely as one point."""


def refuse_decimal_commas(words: Sequence[str], *, subject: str) -> None:
    """Refuse words ``number,number`` that look like single numbers with decimal commas, two of them a point.

    Parameters
    ----------
    words
        What stands between the spaces, each with the semicolon that may end it.
    subject
        The option that gave them.

    Raises
    ------
    MarkError
        They do. Who means whole pixels says so by one decimal point.

    Examples
    --------
    >>> refuse_decimal_commas(["80,410", "500,424", "905,452", "960,455"], subject="--path")
    >>> refuse_decimal_commas(["278.0,5", "513,2", "386,4", "543,1"], subject="--path")
    >>> refuse_decimal_commas(["278,5", "513,2", "386,4", "543,1"], subject="--path")
    Traceback (most recent call last):
    radlength.errors.MarkError: --path: '278,5 513,2' reads as two points and looks like one with decimal commas; \
row,column pairs with spaces between, decimals with a point: "278.5,513.2"; if whole pixels are meant, write the first \
as 278.0,5
    """
    typed = [word.removesuffix(";").split(",") for word in words]
    numbers = [part for pair in typed for part in pair]
    whole = all(len(pair) == 2 for pair in typed) and all(
        part.isascii() and part.isdigit() for part in numbers
    )
    if not whole or len(words) % 2 or not words:
        return
    if not (_parted_by_two(words) or _fraction_begins_with_zero(typed) or _no_way(typed)):
        return
    one, other = (word.removesuffix(";") for word in words[:2])
    raise MarkError(
        f"'{one} {other}' reads as two points and looks like one with decimal commas",
        "row,column pairs with spaces between, decimals with a point: "
        f'"{one.replace(",", ".")},{other.replace(",", ".")}"',
        f"if whole pixels are meant, write the first as {one.replace(',', '.0,')}",
        code="point-decimal-commas",
        subject=subject,
    )


def _parted_by_two(words: Sequence[str]) -> bool:
    """Tell whether a semicolon ends every second word and no other; of two words, and at the last, it tells nothing."""
    ends = [word.endswith(";") for word in words[:-1]]
    return len(words) >= SEVERAL and ends == [False, True] * (len(words) // 2 - 1) + [False]


def _fraction_begins_with_zero(typed: Sequence[Sequence[str]]) -> bool:
    """Tell whether a column begins with 0 as no whole number does, and no row: a program may fill up both with it."""
    rows, columns = (
        any(len(part) > 1 and part.startswith("0") for part in one) for one in zip(*typed, strict=True)
    )
    return columns and not rows


def _no_way(typed: Sequence[Sequence[str]]) -> bool:
    """Tell whether columns are as short as fractions, and the points lie as no canal and no instrument does."""
    longest = max(len(column) for _, column in typed)
    if len(typed) < SEVERAL or longest > 2:
        return False
    points = [(float(row), float(column)) for row, column in typed]
    halves = [float(f"{row}.{column}") for row, column in typed]
    meant = list(zip(halves[::2], halves[1::2], strict=True))
    return longest == 1 or (_turns_back(points) and not _turns_back(meant))


def _turns_back(points: Sequence[Pair]) -> bool:
    """Tell whether a way turns by more than a right angle at one of its points."""
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
    return any(a[0] * b[0] + a[1] * b[1] < 0 for a, b in pairwise(steps))
