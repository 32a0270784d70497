"""JPEG: segments walked for size, orientation and a hash that does not depend on the decoder."""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from radlength.errors import ImageError
from radlength.imaging.grey import resolution_note, to_grey, upright
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen

_FRAME_HEADERS = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_EOI = b"\xff\xd9"


def read_jpeg(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a JPEG file."""
    import cv2

    size, orientation, per_inch = None, 1, 0.0
    frame = bytearray()
    for marker, body in _segments(data, path.name):
        if marker in _FRAME_HEADERS and len(body) >= 6:
            size = struct.unpack(">HH", body[1:5])
            if body[0] != 8:
                raise ImageError(
                    f"has {body[0]}-bit samples", "8 bit", code="image-samples", subject=path.name
                )
            check_size(*size, subject=path.name)
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            orientation = _exif_orientation(body[6:])
        elif marker == 0xE0 and body.startswith(b"JFIF\0") and len(body) >= 12:
            unit, density = body[7], struct.unpack(">H", body[8:10])[0]
            per_inch = density * {1: 1.0, 2: 2.54}.get(unit, 0.0)
        if not (0xE0 <= marker <= 0xEF or marker == 0xFE):
            frame += bytes([marker]) + body
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION)
    if size is None or pixels is None or pixels.shape[:2] != size:
        raise _damaged(path.name, "it cannot be decoded")
    grey, findings, colour = to_grey(pixels, order="bgr", subject=path.name)
    grey = frozen(upright(grey, orientation))
    rows, columns = grey.shape
    digest = hashlib.sha256(f"{rows}x{columns}:{orientation}:jpeg:".encode())
    digest.update(frame)
    return Radiograph(
        stored=grey,
        name=path.name,
        path=path,
        facts=FileFacts(format="jpeg", bits=8, lossy=True, orientation=orientation, was_colour=colour),
        pixel_sha256=digest.hexdigest(),
        hash_rule="encoded-frame",
        findings=(*findings, *resolution_note(per_inch)),
    )


def _segments(data: bytes, name: str) -> Iterator[tuple[int, bytes]]:
    """Yield (marker, body); the last body is everything from the scan to the end of the image."""
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            raise _damaged(name, "its segments do not follow each other")
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        (length,) = struct.unpack(">H", data[at + 2 : at + 4])
        if length < 2:
            raise _damaged(name, "a segment has no length")
        if marker == 0xDA:
            end = data.rfind(_EOI, at)
            if end < 0:
                raise _damaged(name, "it is cut off")
            yield marker, data[at + 2 : end]
            return
        yield marker, data[at + 4 : at + 2 + length]
        at += 2 + length
    raise _damaged(name, "it is cut off")


def _exif_orientation(tiff: bytes) -> int:
    """Return the orientation of an EXIF block, 1 where it has none or is broken."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 10:
        return 1
    (start,) = struct.unpack(order + "I", tiff[4:8])
    if start + 2 > len(tiff):
        return 1
    (count,) = struct.unpack(order + "H", tiff[start : start + 2])
    for entry in range(start + 2, min(start + 2 + 12 * count, len(tiff) - 11), 12):
        tag, kind = struct.unpack(order + "HH", tiff[entry : entry + 4])
        if tag == 0x0112 and kind == 3:
            (value,) = struct.unpack(order + "H", tiff[entry + 8 : entry + 10])
            return value if 1 <= value <= 8 else 1
    return 1


def _damaged(name: str, how: str) -> ImageError:
    return ImageError(
        f"the file is damaged: {how}", "", "export it again", code="image-damaged", subject=name
    )
