"""Paths typed on a command line."""

from __future__ import annotations

from radlength.clean import counted
from radlength.errors import MarkError


def plain_number(text: str) -> float:
    """Return a number written with the digits 0 to 9; Python reads ``2_78`` and other digits too, a person errs.

    Raises
    ------
    ValueError
        It is none.
    """
    if not text.isascii() or "_" in text:
        raise ValueError(text)
    return float(text)


def parse_points(text: str, *, subject: str) -> list[tuple[float, float]]:
    """Return points written as ``row,column row,column ...``.

    Raises
    ------
    MarkError
        Not pairs of numbers.

    Examples
    --------
    >>> parse_points("80,410 905.5,452", subject="canal")
    [(80.0, 410.0), (905.5, 452.0)]
    """
    points = []
    for word in text.split():
        parts = word.removesuffix(";").split(",")
        try:
            row, column = map(plain_number, parts)
        except ValueError:
            raise MarkError(
                f"{word!r} is not a point",
                'row,column pairs with spaces between: "80,410 905,452"',
                "write decimals with a point",
                code="point-not-numbers",
                subject=subject,
            ) from None
        points.append((row, column))
    return points


def parse_point(text: str, *, subject: str) -> tuple[float, float]:
    """Return the one point of a text.

    Raises
    ------
    MarkError
        No point, or several.

    Examples
    --------
    >>> parse_point("80,410", subject="--point")
    (80.0, 410.0)
    """
    points = parse_points(text, subject=subject)
    if len(points) != 1:
        raise MarkError(
            f"{counted(len(points), 'point')} where one is meant",
            'one "row,column"',
            code="point-not-one",
            subject=subject,
        )
    return points[0]
