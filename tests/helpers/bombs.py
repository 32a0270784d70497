"""Small files that ask a decoder for much: memory, time, or both."""

from __future__ import annotations

import struct
import zlib
from functools import cache

import numpy as np
from helpers.image_files import PNG_SIGNATURE, dicom_dataset, dicom_file, noise, pillow_file, png_chunk
from pydicom.uid import ImplicitVRLittleEndian

SHORT, LONG = 3, 4


@cache
def zeros(count: int, wbits: int = zlib.MAX_WBITS) -> bytes:
    """Return `count` zero bytes deflated."""
    packer = zlib.compressobj(9, zlib.DEFLATED, wbits)
    step = bytes(1_000_000)
    return b"".join(packer.compress(step) for _ in range(count // len(step))) + packer.flush()


def png(
    columns: int, rows: int, *, bits: int = 8, kind: int = 0, more: bytes = b"", packed: bytes | None = None
):
    """Return a PNG of zeros, with chunks before its pixels."""
    header = struct.pack(">IIBBBBB", columns, rows, bits, kind, 0, 0, 0)
    if packed is None:
        samples = {0: 1, 2: 3, 6: 4}[kind]
        packed = zeros((rows * (1 + columns * samples * bits // 8)) // 1_000_000 * 1_000_000 + 1_000_000)
    ends = png_chunk(b"IDAT", packed) + png_chunk(b"IEND", b"")
    return PNG_SIGNATURE + png_chunk(b"IHDR", header) + more + ends


def tiff(tags, data: bytes = b"", *, next_page: int = 0, count: int | None = None) -> bytes:
    """Return a little-endian TIFF of one page; tags are (number, kind, count, value), `data` lies at byte 8."""
    place = 8 + len(data)
    entries = b"".join(
        struct.pack("<HHI", number, kind, many)
        + (struct.pack("<HH", value, 0) if kind == SHORT and many == 1 else struct.pack("<I", value))
        for number, kind, many, value in tags
    )
    page = struct.pack("<H", len(tags) if count is None else count) + entries + struct.pack("<I", next_page)
    return b"II*\0" + struct.pack("<I", place) + data + page


def tiff_page(
    columns, rows, *, compression=1, bits=8, strip=None, offsets=(1, 8), counts=(1, 100), tile=None
):
    """Return the tags of a grey page; offsets and counts are (how many, value or where they stand)."""
    chunk = [(278, LONG, 1, strip or rows)] if tile is None else [(322, LONG, 1, tile), (323, LONG, 1, tile)]
    places = (273, 279) if tile is None else (324, 325)
    tags = [
        (256, LONG, 1, columns), (257, LONG, 1, rows), (258, SHORT, 1, bits), (259, SHORT, 1, compression),
        (262, SHORT, 1, 1), (277, SHORT, 1, 1), *chunk,
        (places[0], LONG, *offsets), (places[1], LONG, *counts),
    ]  # fmt: skip
    return sorted(tags)


def tiff_same_strip(side: int, strips: int, packed: bytes, compression: int) -> bytes:
    """Return a TIFF whose many strips are all the same bytes."""
    table = struct.pack("<I", 8) * strips + struct.pack("<I", len(packed)) * strips
    at = 8 + len(packed)
    tags = tiff_page(
        side, strips, compression=compression, strip=1, offsets=(strips, at), counts=(strips, at + 4 * strips)
    )
    return tiff(tags, packed + table)


def tiff_tiny_tiles(side: int) -> bytes:
    """Return a TIFF of tiles of one pixel, a million for a side of a thousand."""
    count = side * side
    table = np.arange(8, 8 + count, dtype="<u4").tobytes() + np.ones(count, "<u4").tobytes()
    tags = tiff_page(side, side, tile=1, offsets=(count, 8 + count), counts=(count, 8 + 5 * count))
    return tiff(tags, bytes(count) + table)


def tiff_of_pages(count: int) -> bytes:
    """Return a TIFF of that many thumbnail pages."""
    size = 2 + 12 * 2 + 4
    pages = b"".join(
        struct.pack("<H", 2) + struct.pack("<HHII", 254, LONG, 1, 1) + struct.pack("<HHII", 256, LONG, 1, 1)
        + struct.pack("<I", 8 + size * (n + 1))
        for n in range(count)
    )  # fmt: skip
    return b"II*\0" + struct.pack("<I", 8) + pages + bytes(6)


def jpeg_of_scans(scans: int, side: int) -> bytes:
    """Return a progressive JPEG that declares a large square and holds nearly empty scans."""
    data = pillow_file(noise((16, 16)), "JPEG", progressive=True)
    at = data.index(b"\xff\xc2") + 5
    start = data.index(b"\xff\xda")
    following = data.index(b"\xff\xc4", start)
    scan = data[start:following]
    return data[:at] + struct.pack(">HH", side, side) + data[at + 4 : start] + scan * scans + b"\xff\xd9"


def dicom_deflated(body: bytes) -> bytes:
    """Return a deflated DICOM file of those bytes after the meta group."""
    packer = zlib.compressobj(1, zlib.DEFLATED, -zlib.MAX_WBITS)
    meta = b"\x02\x00\x10\x00UI\x16\x001.2.840.10008.1.2.1.99"
    return bytes(128) + b"DICM" + meta + packer.compress(body) + packer.flush()


def dicom_of_elements(count: int) -> bytes:
    """Return a deflated file of that many empty elements."""
    groups = (np.arange(count) // 30_000 * 2 + 0x1001).astype("<u2")
    rows = np.zeros((count, 4), "<u2")
    rows[:, 0] = groups
    rows[:, 1] = np.arange(count) % 30_000 + 0x1000
    rows[:, 2] = int.from_bytes(b"LO", "little")
    return dicom_deflated(rows.tobytes())


def dicom_of_items(count: int, *, undefined: bool) -> bytes:
    """Return a deflated file whose one sequence, of the teeth shown, holds that many empty items."""
    items = b"\xfe\xff\x00\xe0\0\0\0\0" * count
    length = 0xFFFFFFFF if undefined else len(items)
    end = b"\xfe\xff\xdd\xe0\0\0\0\0" if undefined else b""
    teeth = b"\x08\x00\x28\x22SQ\0\0" + struct.pack("<I", length) + items + end
    return dicom_deflated(_small_image(teeth))


def dicom_of_values(count: int) -> bytes:
    """Return a file without value representations whose pixel spacing has that many values."""
    data = dicom_file(dicom_dataset(syntax=ImplicitVRLittleEndian, ImagerPixelSpacing=None))
    ones = b"1\\" * (count - 1) + b"1 "
    at = data.index(b"\x08\x00\x16\x00", 132)
    return data[:at] + b"\x18\x00\x64\x11" + struct.pack("<I", len(ones)) + ones + data[at:]


def dicom_nested(depth: int) -> bytes:
    """Return a file of sequences within sequences."""
    start = b"\x08\x00\x28\x22SQ\0\0\xff\xff\xff\xff\xfe\xff\x00\xe0\xff\xff\xff\xff"
    return dicom_deflated(_small_image(start * depth))


def _small_image(extra: bytes) -> bytes:
    """Return the explicit data set of a small image, an element put at its start."""
    data = dicom_file(dicom_dataset())
    return extra + data[data.index(b"\x08\x00\x16\x00UI") :]
