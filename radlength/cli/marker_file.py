"""The file of a marker of known shape: its points in millimetres, and where they lie on two images."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from radlength.errors import MarkError

MOST_BYTES = 1_000_000
FARTHEST = 1e9
"""Pixels or millimetres; what is farther is no place."""


@dataclass(frozen=True, slots=True)
class Marker:
    """A marker as two images show it.

    Parameters
    ----------
    shape_mm
        Its points, (x, y, z) millimetres: x as columns run, y as rows run, z toward the tube.
    straight_px, shifted_px
        The same points in the same order on both images, (row, column) pixels.
    """

    shape_mm: tuple[tuple[float, float, float], ...] = ()
    straight_px: tuple[tuple[float, float], ...] = ()
    shifted_px: tuple[tuple[float, float], ...] = ()


def read_marker(path: Path) -> Marker:
    """Return the marker of a file ``{"shape_mm": [...], "straight_px": [...], "shifted_px": [...]}``.

    Raises
    ------
    MarkError
        It is not such a file.
    """
    if path.stat().st_size > MOST_BYTES:
        raise _bad(path, "it is larger than a megabyte")
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (ValueError, RecursionError) as exc:
        raise _bad(path, "it is not JSON") from exc
    if not isinstance(data, dict):
        raise _bad(path, "it holds no names")
    return Marker(
        cast("Any", _points(data, "shape_mm", 3, path)),
        cast("Any", _points(data, "straight_px", 2, path)),
        cast("Any", _points(data, "shifted_px", 2, path)),
    )


def _points(data: dict[str, Any], name: str, size: int, path: Path) -> tuple[tuple[float, ...], ...]:
    points = data.get(name)
    plain = isinstance(points, list) and all(
        isinstance(point, list) and len(point) == size and all(_is_place(number) for number in point)
        for point in points
    )
    if not plain:
        raise _bad(path, f"{name} is no list of {size} numbers a point")
    return tuple(tuple(map(float, point)) for point in cast("list[list[float]]", points))


def _is_place(value: object) -> bool:
    """Tell whether a value is a number and not out of all bounds; a truth value is none. NaN is refused by its name."""
    return isinstance(value, int | float) and not isinstance(value, bool) and not abs(value) > FARTHEST


def _bad(path: Path, what: str) -> MarkError:
    return MarkError(
        f"no marker file: {what}",
        '{"shape_mm": [[x, y, z], ...], "straight_px": [[row, column], ...], "shifted_px": [...]}',
        code="marker-file",
        subject=path.name,
    )
