"""Paths typed on a command line."""

from __future__ import annotations

from collections.abc import Sequence

from radlength.clean import counted
from radlength.cli.decimal_commas import refuse_decimal_commas
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
        Not pairs of numbers, or numbers with decimal commas as far as that can be told.

    Examples
    --------
    >>> parse_points("80,410 905.5,452", subject="canal")
    [(80.0, 410.0), (905.5, 452.0)]
    """
    points = []
    refuse_decimal_commas(text.split(), subject=subject)
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


def refuse_swapped(points: Sequence[tuple[float, float]], shape: tuple[int, int], *, subject: str) -> None:
    """Refuse points that lie on the image only where column and row change places.

    Parameters
    ----------
    points
        (row, column) pixels as they were typed.
    shape
        Rows and columns of the image.
    subject
        The option that gave them.

    Raises
    ------
    MarkError
        They are ``column,row``. Points that lie outside either way are left to who measures them.

    Examples
    --------
    >>> refuse_swapped([(80, 410), (905, 452)], (1000, 700), subject="--path")
    >>> refuse_swapped([(410, 80), (452, 905)], (1000, 700), subject="--path")
    Traceback (most recent call last):
    radlength.errors.MarkError: --path: as row,column the points leave the image of 1000 rows and 700 columns; \
as column,row they would lie on it; give the row first, counted from the top, then the column
    """
    if _outside(points, shape) and not _outside(points, shape[::-1]):
        raise MarkError(
            f"as row,column the points leave the image of {shape[0]} rows and {shape[1]} columns",
            "as column,row they would lie on it",
            "give the row first, counted from the top, then the column",
            code="points-swapped",
            subject=subject,
        )


def refuse_outside(points: Sequence[tuple[float, float]], shape: tuple[int, int], *, subject: str) -> None:
    """Refuse points that do not lie on the image.

    Parameters
    ----------
    points, shape, subject
        As :func:`refuse_swapped` has them.

    Raises
    ------
    MarkError
        One does not.

    Examples
    --------
    >>> refuse_outside([(80, 410), (1000, 452)], (1000, 700), subject="--edge")
    Traceback (most recent call last):
    radlength.errors.MarkError: --edge: a point outside the image; points on its 1000 rows and 700 columns, counted \
from 0; look up the place again
    """
    refuse_swapped(points, shape, subject=subject)
    if _outside(points, shape):
        raise MarkError(
            "a point outside the image",
            f"points on its {shape[0]} rows and {shape[1]} columns, counted from 0",
            "look up the place again",
            code="points-outside",
            subject=subject,
        )


def _outside(points: Sequence[tuple[float, float]], shape: tuple[int, ...]) -> int:
    import numpy as np

    from radlength.geometry.path import points_outside

    return points_outside(np.asarray(points, dtype=np.float64).reshape(-1, 2), shape)
