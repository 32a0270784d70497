"""Readers of files from strangers, by name: bytes in, and out comes a refusal or something that is checked.

A reader that lets anything but a :class:`RadlengthError` out has failed; so has one whose numbers are not those of the
file. The checks know the formats by themselves: numbers of a JSON file by :mod:`json`, pixels of a PNG by Pillow, of a
native DICOM frame by NumPy.
"""

from __future__ import annotations

import io
import json
import os
import struct
import warnings
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from radlength.errors import RadlengthError

Reader = Callable[[bytes, Path], object]


class WrongNumberError(AssertionError):
    """A reader returned another number than the file holds."""


def read_image(data: bytes, folder: Path) -> object:
    """Read an image of any kind and compare its values with those of another decoder."""
    from radlength.imaging import pixel_hash, read_radiograph

    path = folder / "tooth.bin"
    path.write_bytes(data)
    read = read_radiograph(path)
    check(read.stored.dtype in (np.uint8, np.uint16) and not read.stored.flags.writeable, "kind of array")
    check(read.hash_rule != "stored-samples" or read.pixel_sha256 == pixel_hash(read.stored), "pixel hash")
    spacing = read.scale.row_mm, read.scale.column_mm
    check(all(side is None or 0 < side < np.inf for side in spacing), "size of a pixel")
    other = _other_png(data) if read.facts.format == "png" and not read.facts.was_colour else None
    if other is not None and read.facts.orientation == 1:
        check(np.array_equal(other, read.stored), "pixels")
    return read


def _other_png(data: bytes) -> Any:
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = Image.open(io.BytesIO(data))
            picture.load()
    except (OSError, SyntaxError, ValueError, TypeError, IndexError, struct.error, zlib.error):
        return None
    return np.asarray(picture) if picture.mode in ("L", "I;16") else None


def repaired(data: bytes) -> bytes:
    """Return a PNG with its checksums put right, so that damage goes deeper; other files as they are."""
    if not data.startswith(b"\x89PNG\r\n\x1a\n"):
        return data
    out, at = [data[:8]], 8
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        body = data[at + 4 : at + 8 + min(length, 1 << 20)]
        out += [struct.pack(">I", len(body) - 4), body, struct.pack(">I", zlib.crc32(body))]
        at += 12 + length
    return b"".join(out)


def read_record(data: bytes, _folder: Path) -> object:
    """Read a record and compare the numbers of its marks with those in the file."""
    from radlength.record import dump_record, parse_record

    record = parse_record(data)
    raw = json.loads(data.decode("utf-8-sig"))
    for mark, given in zip(record.references, raw["references"], strict=True):
        check(mark.length_mm == given["length_mm"], "length of a reference")
        check([list(point) for point in mark.path_px] == given["path_px"], "path of a reference")
    for entry, given in zip(record.canals, raw["canals"], strict=True):
        check([list(point) for point in entry.canal.path_px] == given["canal"]["path_px"], "path of a canal")
    check(parse_record(dump_record(record)).image == record.image, "record written again")
    return record


def read_any_dicom(data: bytes, folder: Path) -> object:
    """Read a DICOM file that need not be an image, every value of it."""
    from radlength.dicom.source import read_any

    path = folder / "any.dcm"
    path.write_bytes(data)
    return read_any(path)


def _parsed_record(data: bytes) -> object:
    from radlength.record import parse_record

    return parse_record(data)


def read_case(data: bytes, _folder: Path) -> object:
    """Read a case and compare the numbers of its lengths with those in the file."""
    from radlength.record import parse_case
    from radlength.record.case_models import ImageAdded, LengthAdded

    case = parse_case(data)
    raw = json.loads(data.decode("utf-8-sig"))
    for event, given in zip(case.events, raw["events"], strict=True):
        if isinstance(event, LengthAdded):
            check(event.length.value_mm == given["length"]["value_mm"], "length")
        if isinstance(event, ImageAdded):
            check(not Path(event.path).is_absolute() and ".." not in Path(event.path).parts, "path")
    return case


def read_marks(data: bytes, folder: Path) -> object:
    """Read a file of marks for an invented image."""
    from helpers.records import radiograph

    from radlength.cli.marks_file import record_from_marks

    path = folder / "tooth.marks.json"
    path.write_bytes(data)
    record = record_from_marks(path, radiograph(rows=1300, columns=900))
    for mark in record.references:
        check(0 < mark.length_mm < 1000, "length of a reference")
    return record


def _exercise(reader: str) -> Reader:
    def read(data: bytes, folder: Path) -> object:
        from radlength.exercise import files

        if reader == "parse_attempt":
            return files.parse_attempt(data, "a.attempt.json")
        path = folder / files.SET_FILE
        path.write_bytes(data)
        return files.load_set(folder)

    return read


def read_marker(data: bytes, folder: Path) -> object:
    """Read the file of a marker of known shape."""
    from radlength.cli.marker_file import read_marker as read

    path = folder / "marker.json"
    path.write_bytes(data)
    return read(path)


def _hungry(_data: bytes, _folder: Path) -> object:
    return bytes(300_000_000)


def _endless(_data: bytes, _folder: Path) -> object:
    while True:
        pass


def _aborting(_data: bytes, _folder: Path) -> object:
    return os.abort()


def _leaking(data: bytes, _folder: Path) -> object:
    return {}[data]


def _lying(data: bytes, folder: Path) -> object:
    """Return an image one of whose values is another than the file holds."""
    from radlength.imaging import png
    from radlength.imaging.grey import to_grey

    def wrong(*args: Any, **options: Any) -> Any:
        grey, *more = to_grey(*args, **options)
        return grey ^ grey.dtype.type(1), *more

    png.to_grey = wrong
    try:
        return read_image(data, folder)
    finally:
        png.to_grey = to_grey


READERS: dict[str, Reader] = {
    "planted-hungry": _hungry,
    "planted-endless": _endless,
    "planted-aborting": _aborting,
    "planted-leaking": _leaking,
    "planted-lying": _lying,
    "image": read_image,
    "dicom": read_any_dicom,
    "record": read_record,
    "record-unchecked": lambda data, _folder: _parsed_record(data),
    "case": read_case,
    "marks": read_marks,
    "set": _exercise("load_set"),
    "attempt": _exercise("parse_attempt"),
    "marker": read_marker,
}


def check(holds: bool, what: str) -> None:
    """Raise where a reader returned something else than the file holds."""
    if not holds:
        raise WrongNumberError(what)


def outcome(reader: Reader, data: bytes, folder: Path) -> str:
    """Return ``read`` or the code of the refusal; anything else comes out as it is."""
    try:
        reader(data, folder)
    except RadlengthError as exc:
        if not str(exc).isprintable():
            message = f"words that steer a terminal: {str(exc)!r}"
            raise WrongNumberError(message) from exc
        return exc.code
    return "read"
