"""What ``radlength shape`` takes as text and files: edges, tables, steps, and one measured canal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.cli.points import parse_points, refuse_outside
from radlength.cli.records import open_marked
from radlength.errors import MarkError, RecordError, TradeError

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.length import Estimate
    from radlength.record import CanalEntry, Record

MOST_BYTES = 1_000_000


def one_canal(image: Path, records: Path | None, canal: str | None) -> tuple[Record, Radiograph, Estimate]:
    """Return the record, the image with its stated pitch, and the measured canal; see :func:`one_entry`."""
    from radlength.record import measure_entry

    record, radiograph, entry = one_entry(image, records, canal)
    plain = open_marked(image, records)[1]
    return record, radiograph, measure_entry(record, entry, plain)


def one_entry(image: Path, records: Path | None, canal: str | None) -> tuple[Record, Radiograph, CanalEntry]:
    """Return the record, the image with its stated pitch, and the entry of one canal.

    Raises
    ------
    RecordError
        No record, or more than one canal and none named.
    """
    from radlength.record import check_binding, stated_radiograph

    record, radiograph = open_marked(image, records)
    check_binding(record, radiograph)
    if canal is None and len(record.canals) != 1:
        raise RecordError(
            f"{len(record.canals)} canals are marked",
            f"one of: {', '.join(entry.canal.label for entry in record.canals) or 'none yet'}",
            "name it with --canal" if record.canals else "mark one: radlength mark --help",
            code="canal-which",
            subject=radiograph.name,
        )
    entry = record.entry(canal) if canal is not None else record.canals[0]
    return record, stated_radiograph(record, radiograph), entry


def limited(option: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse a number outside its ends; what is no number is outside.

    Raises
    ------
    MarkError
        It is.

    Examples
    --------
    >>> limited("--step", 0.5, 0.05, 5.0, "mm")
    """
    if not low <= value <= high:
        raise MarkError(
            f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", code="shape-limit", subject=option
        )


def levels_of(text: str) -> tuple[float, ...]:
    """Return distances written with commas between.

    Raises
    ------
    MarkError
        Not numbers.

    Examples
    --------
    >>> levels_of("1,2.5, 3")
    (1.0, 2.5, 3.0)
    """
    try:
        return tuple(float(word) for word in text.split(","))
    except ValueError:
        raise MarkError(
            f"{text[:60]!r} are no levels", "millimetres with commas between: 1,2,3", code="levels-text"
        ) from None


def named_paths(
    words: Sequence[str], shape: tuple[int, int], *, option: str
) -> dict[str, list[tuple[float, float]]]:
    """Return paths given as ``NAME:ROW,COLUMN ROW,COLUMN ...`` on an image of so many rows and columns.

    Raises
    ------
    MarkError
        No name, twice the same, no points, or a point outside the image.

    Examples
    --------
    >>> named_paths(["mesial:10,20 30,25"], (100, 80), option="--edge")
    {'mesial': [(10.0, 20.0), (30.0, 25.0)]}
    """
    paths: dict[str, list[tuple[float, float]]] = {}
    for word in words:
        name, mark, points = word.partition(":")
        name = name.strip()
        if not (mark and name) or name in paths:
            raise MarkError(
                f"{word[:60]!r} names no path of its own",
                f'{option} "NAME:ROW,COLUMN ROW,COLUMN ...", each name once',
                code="path-name",
                subject=option,
            )
        paths[name] = parse_points(points, subject=f"{option} {name}")
        refuse_outside(paths[name], shape, subject=f"{option} {name}")
    return paths


def read_text(path: Path) -> str:
    """Return a small text file.

    Raises
    ------
    TradeError
        Larger than a megabyte, or no text.
    """
    if path.stat().st_size > MOST_BYTES:
        raise TradeError("larger than a megabyte", "a small table", code="table-size", subject=path.name)
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as exc:
        raise TradeError("not text", "a CSV table in UTF-8", code="table-text", subject=path.name) from exc
