"""How cost grows with megapixels, clicks, canals and images: processor time, least of several, and the exponent."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import tifffile
from helpers.batches import tree
from helpers.records import canal, radiograph, reference
from helpers.shapes import bent_canal

from radlength.batch.task import Task
from radlength.batch.work import work
from radlength.imaging import read_radiograph
from radlength.length import Canal, estimate_length
from radlength.record import Record, measure_record
from radlength.scale import Reference
from radlength.tracing import Tracer

RUNS = 7


def least(work: Callable[[], object], runs: int = RUNS) -> float:
    """Return the least processor seconds of several runs, after one that warms up."""
    work()
    found = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        found.append(time.process_time() - begun)
    return min(found)


def exponent(sizes: list[float], seconds: list[float]) -> float:
    """Return p of seconds = a * size**p by least squares on logarithms.

    Examples
    --------
    >>> round(exponent([1, 2, 4], [3, 6, 12]), 3)
    1.0
    """
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def lines() -> Iterator[str]:
    """Yield a line for each thing that grows."""
    yield "how cost grows (processor time; cost = a * size^p)"
    with TemporaryDirectory() as folder:
        for what, sizes, make in _cases(Path(folder)):
            seconds = [least(make(size)) for size in sizes]
            told = ", ".join(
                f"{size:g}: {1e3 * one:.2f} ms" for size, one in zip(sizes, seconds, strict=True)
            )
            yield f"{what:34} p = {exponent(sizes, seconds):4.2f}  ({told})"


def _cases(folder: Path) -> Iterator[tuple[str, list[float], Callable[[float], Callable[[], object]]]]:
    yield "open a TIFF, megapixels", [0.5, 2, 8], lambda size: _open(folder, size)
    yield "length of a canal, clicks", [4, 16, 64], _length
    yield "measure a record, canals", [1, 4, 16], _record
    yield "first trace, megapixels", [0.5, 2, 8], _trace
    yield "estimates, images", [1, 4, 16], lambda count: _images(folder, int(count))


def _open(folder: Path, megapixels: float) -> Callable[[], object]:
    path = folder / f"{megapixels}.tif"
    side = round((megapixels * 1e6) ** 0.5)
    tifffile.imwrite(path, np.random.default_rng(0).integers(0, 4096, (side, side), dtype=np.uint16))
    return lambda: read_radiograph(path)


def _length(clicks: float) -> Callable[[], object]:
    path = bent_canal(22.0, 30.0) * 40 + 50
    places = np.linspace(0, len(path) - 1, int(clicks))
    clicked = np.column_stack([np.interp(places, np.arange(len(path)), part) for part in path.T])
    known = Reference(path_px=clicked[:-1], length_mm=20.5, limit_mm=0.25)
    marked = Canal(tooth="45", name="single", path_px=clicked)
    return lambda: estimate_length(marked, known)


def _record(count: float) -> Callable[[], object]:
    image = radiograph()
    canals = [canal(name=f"C{number}") for number in range(int(count))]
    record = Record.new(image, canals=canals, references=[reference()])
    return lambda: measure_record(record, image)


def _trace(megapixels: float) -> Callable[[], object]:
    side = round((megapixels * 1e6) ** 0.5)
    image = radiograph(rows=side, columns=side)
    clicks = np.linspace((0.2 * side, 0.4 * side), (0.2 * side + 400, 0.4 * side + 60), 5)
    return lambda: Tracer(image).trace(clicks)


def _images(folder: Path, count: int) -> Callable[[], object]:
    root = tree(folder / f"images{count}", count)
    places = [path.relative_to(root).as_posix() for path in root.rglob("*.tif")]
    return lambda: [work(Task("estimate", str(root), place)) for place in places]
