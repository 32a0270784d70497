"""Trees of invented images with their records, for batches."""

from __future__ import annotations

from pathlib import Path

import tifffile
from helpers.records import canal, reference

from radlength.imaging import Radiograph, read_radiograph
from radlength.length import Terminus
from radlength.record import Record, save_record
from radlength.scale import Reference


def tree(root: Path, count: int = 5, *, rows: int = 960, columns: int = 480) -> Path:
    """Write `count` images with records in two folders of a tree, each with pixels of its own."""
    from helpers.records import radiograph

    for number in range(count):
        folder = root / ("a" if number % 2 else "b")
        folder.mkdir(parents=True, exist_ok=True)
        add(folder / f"tooth{number:03}.tif", radiograph(number, rows=rows, columns=columns))
    return root


def add(path: Path, image: Radiograph) -> None:
    """Write one image and its record."""
    tifffile.imwrite(path, image.stored)
    saved = read_radiograph(path)
    wire = reference()
    record = Record.new(
        saved,
        canals=[canal()],
        references=[Reference(wire.path_px, wire.length_mm, wire.limit_mm, "in_canal", "file in MB", "MB")],
        terminus=Terminus(offset_mm=1.0),
    )
    save_record(record, path)
