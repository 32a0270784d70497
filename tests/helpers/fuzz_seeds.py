"""Small sound files of every kind that is read, for a fuzzer to begin with."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from helpers.image_files import dicom_dataset, dicom_file, noise, pillow_file, png_grey, tiff_file
from helpers.made_case import with_canal, with_length, with_locator
from helpers.records import full_record, raw
from pydicom.uid import (
    DeflatedExplicitVRLittleEndian,
    ExplicitVRBigEndian,
    ImplicitVRLittleEndian,
    RLELossless,
)

from radlength.record import Case, dump_case

ROOT = Path(__file__).parents[2]


def image_seeds() -> list[bytes]:
    """Return images of every kind."""
    small = noise((12, 10))
    wide = small.astype(np.uint16) * 17
    rle = dicom_dataset(wide)
    rle.compress(RLELossless)
    syntaxes = (DeflatedExplicitVRLittleEndian, ExplicitVRBigEndian, ImplicitVRLittleEndian)
    return [
        png_grey([bytes(row) for row in small]),
        pillow_file(small, "PNG"),
        pillow_file(np.dstack([small] * 3), "PNG"),
        pillow_file(small, "JPEG"),
        pillow_file(small, "JPEG", progressive=True),
        tiff_file(small),
        tiff_file(wide, compression="zlib", byteorder=">"),
        pillow_file(small, "TIFF", compression="packbits"),
        pillow_file(small, "TIFF", compression="tiff_lzw"),
        dicom_file(dicom_dataset(wide)),
        dicom_file(rle),
        *(dicom_file(dicom_dataset(wide, syntax)) for syntax in syntaxes),
    ]


def text_seeds() -> dict[str, list[bytes]]:
    """Return files of every JSON kind by the name of their reader; without seals, so that damage goes deeper."""
    case = json.loads(dump_case(with_locator(with_length(with_canal(Case.new(invented=True))))))
    case.pop("sha256")
    marker = {"shape_mm": [[0, 0, 0], [1, 2, 3]], "straight_px": [[1, 2]], "shifted_px": [[3, 4]]}
    return {
        "record": [json.dumps(raw(full_record()), indent=1).encode()],
        "case": [json.dumps(case, indent=1).encode()],
        "marks": [path.read_bytes() for path in sorted((ROOT / "radlength/demo").glob("*.marks.json"))],
        "set": [json.dumps(_set()).encode()],
        "attempt": [json.dumps(_attempt()).encode()],
        "marker": [json.dumps(marker).encode()],
    }


def write_seeds(folder: Path, readers: tuple[str, ...]) -> None:
    """Write seeds, the first byte saying which of the readers gets the rest."""
    folder.mkdir(parents=True)
    for place, name in enumerate(readers):
        seeds = seeds_of(name)
        for number, data in enumerate(seeds):
            (folder / f"{name}-{number}").write_bytes(bytes([place]) + data)


def seeds_of(reader: str) -> list[bytes]:
    """Return the seeds of a reader; a planted one that lies reads records."""
    if reader.startswith("planted-") and reader != "planted-lying":
        return [b"seed"]
    if reader == "dicom":
        return [data for data in image_seeds() if data[128:132] == b"DICM"]
    return image_seeds() if reader == "image" else text_seeds()[reader.replace("planted-lying", "record")]


def _set() -> dict[str, object]:
    from helpers.exercise_markers import course

    return course().exercises.model_dump(mode="json")


def _attempt() -> dict[str, object]:
    from helpers.exercise_markers import CAREFUL, attempt_of, course

    return attempt_of(course(), CAREFUL).model_dump(mode="json")
