"""PNG: chunks checked before and after decoding."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.grey import resolution_note, to_grey
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen, pixel_hash

ANIMATED = Finding(
    "image-frames", "The file holds several frames; only the first is read.", "Export one image.", "question"
)


def read_png(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a PNG file."""
    import cv2

    chunks = _chunks(data, path.name)
    header = chunks.get(b"IHDR", b"")
    if len(header) != 13:
        raise _damaged(path.name, "its first chunk is no header")
    columns, rows, bits = struct.unpack(">IIB", header[:9])
    check_size(rows, columns, subject=path.name)
    if bits < 8 and header[9] == 0:
        raise ImageError(
            f"has {bits}-bit grey values", "8 or 16 bit", code="image-samples", subject=path.name
        )
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    if pixels is None or pixels.shape[:2] != (rows, columns):
        raise _damaged(path.name, "it cannot be decoded")
    grey, findings, colour = to_grey(pixels, order="bgr", subject=path.name)
    if b"acTL" in chunks:
        findings.append(ANIMATED)
    density = chunks.get(b"pHYs", b"")
    if len(density) == 9 and density[8] == 1:
        findings += resolution_note(struct.unpack(">I", density[:4])[0] * 0.0254)
    return Radiograph(
        stored=frozen(grey),
        name=path.name,
        path=path,
        facts=FileFacts(format="png", bits=8 * grey.dtype.itemsize, was_colour=colour),
        pixel_sha256=pixel_hash(grey),
        findings=tuple(findings),
    )


def _chunks(data: bytes, name: str) -> dict[bytes, bytes]:
    """Return the first chunk of each kind, all checksums tested; pixel data is left out."""
    found: dict[bytes, bytes] = {}
    at = 8
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        end = at + 8 + length
        if end + 4 > len(data):
            break
        kind = data[at + 4 : at + 8]
        if zlib.crc32(memoryview(data)[at + 4 : end]) != struct.unpack(">I", data[end : end + 4])[0]:
            raise _damaged(name, f"the checksum of a {kind!r} chunk is wrong")
        if kind == b"IEND":
            return found
        if kind != b"IDAT":
            found.setdefault(kind, data[at + 8 : end])
        at = end + 4
    raise _damaged(name, "it is cut off")


def _damaged(name: str, how: str) -> ImageError:
    return ImageError(
        f"the file is damaged: {how}", "", "export it again", code="image-damaged", subject=name
    )
