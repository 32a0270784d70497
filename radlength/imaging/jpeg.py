"""JPEG: segments walked for size, orientation and a hash that does not depend on the decoder."""

from __future__ import annotations

import hashlib
import re
import struct
from collections.abc import Iterator
from pathlib import Path

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.decode import damaged, decode
from radlength.imaging.exif import exif_orientation
from radlength.imaging.grey import resolution_note, to_grey, unequal_note, upright
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen

FRAME_HEADERS = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Markers of a frame header (ISO/IEC 10918-1, table B.1)."""

_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
_MARKER = re.compile(rb"\xff[\x02-\xcf\xd8-\xfe]")
_FILL = re.compile(rb"\xff+")
_MOST_SCANS = 200
_MOST_SEGMENTS = 10_000
_MOST_SCANNED = 1_000_000_000
"""Values that all scans together may go over: a grey progressive picture of 100 megapixels has six scans."""


def read_jpeg(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a JPEG file."""
    size, orientation, per_inch, unequal = (0, 0), 0, 0.0, list[Finding]()
    frame, scanned = bytearray(), 0
    for marker, body in segments(data, path.name):
        if marker in FRAME_HEADERS and len(body) >= 6:
            size = _frame_size(body, path.name)
        elif marker == _SCAN:
            scanned += size[0] * size[1]
        elif (
            marker == 0xE1 and body.startswith(b"Exif\0\0") and not orientation
        ):  # the first, as others read it
            orientation = exif_orientation(body[6:])
        elif marker == 0xE0 and body.startswith(b"JFIF\0") and len(body) >= 12:
            across, down = struct.unpack(">HH", body[8:12])
            per_inch = across * {1: 1.0, 2: 2.54}.get(body[7], 0.0)
            unequal = unequal_note(across, down)
        if not (0xE0 <= marker <= 0xEF or marker == 0xFE):
            frame += bytes([marker]) + body
    orientation = orientation or 1
    if scanned > _MOST_SCANNED:
        raise damaged(path.name, "it goes over the picture more often than any picture needs")
    pixels, doubts = decode(data, size, name=path.name)
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
        findings=(*doubts, *findings, *resolution_note(per_inch), *unequal),
    )


def _frame_size(body: bytes, name: str) -> tuple[int, int]:
    bits, rows, columns, samples = struct.unpack(">BHHB", body[:6])
    if bits != 8:
        raise ImageError(f"has {bits}-bit samples", "8 bit", code="image-samples", subject=name)
    check_size(rows, columns, samples=max(samples, 1), subject=name)
    return rows, columns


def segments(data: bytes, name: str) -> Iterator[tuple[int, bytes]]:
    """Yield (marker, body) up to the end of the image; the body of a scan includes its coded data.

    Parameters
    ----------
    data
        A JPEG or JPEG-LS stream from its start marker on.
    name
        File name for the refusal.

    Raises
    ------
    ImageError
        The stream is broken, ends early, or has more scans or segments than any picture needs.
    """
    at, scans, count = 2, 0, 0
    while at + 2 <= len(data):
        if data[at] != 0xFF:
            raise damaged(name, "its segments do not follow each other")
        marker = data[at + 1]
        if marker == 0xFF:
            at = _FILL.match(data, at).end() - 1  # type: ignore[union-attr]
            continue
        if marker == _END:
            return
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        if length < 2 or marker == _START:
            raise damaged(name, "a segment has no length")
        count += 1
        if count > _MOST_SEGMENTS:
            raise damaged(name, f"it has more than {_MOST_SEGMENTS} segments")
        if marker != _SCAN:
            yield marker, data[at + 4 : at + 2 + length]
            at += 2 + length
            continue
        scans += 1
        following = _MARKER.search(data, at + 2 + length)
        if following is None:
            break
        if scans > _MOST_SCANS:
            raise damaged(name, f"it has more than {_MOST_SCANS} scans")
        yield marker, data[at + 2 : following.start()]
        at = following.start()
    raise damaged(name, "it is cut off")
