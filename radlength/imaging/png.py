"""PNG: chunks checked before decoding, and only those handed on that make the picture."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

from radlength.clean import clean
from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.decode import damaged, decode
from radlength.imaging.exif import exif_orientation
from radlength.imaging.grey import ALPHA, resolution_note, to_grey, unequal_note, upright
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen, pixel_hash

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PICTURE = (b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND")
_GREY, _PALETTE = 0, 3
_SAMPLES = {2: 3, 3: 3, 4: 2, 6: 4}
"""Values a pixel that a colour type is decoded to."""

_MOST_CHUNKS = 100_000

ANIMATED = Finding(
    "image-frames", "The file holds several frames; only the first is read.", "Export one image.", "question"
)


def read_png(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a PNG file."""
    chunks, picture = _chunks(data, path.name)
    header = chunks.get(b"IHDR", b"")
    if len(header) != 13:
        raise damaged(path.name, "its first chunk is no header")
    columns, rows, bits, kind = struct.unpack(">IIBB", header[:10])
    check_size(rows, columns, samples=_SAMPLES.get(kind, 1), subject=path.name)
    if bits < 8 and kind == _GREY:
        raise ImageError(
            f"has {bits}-bit grey values",
            "8 or 16 bit",
            "export the image as it was stored",
            code="image-samples",
            subject=path.name,
        )
    pixels, findings = decode(picture, (rows, columns), name=path.name)
    grey, more, colour = to_grey(pixels, order="bgr", subject=path.name)
    findings += more
    if b"tRNS" in chunks and kind != _PALETTE and ALPHA not in findings:
        findings.append(ALPHA)
    if b"acTL" in chunks:
        findings.append(ANIMATED)
    orientation = exif_orientation(chunks.get(b"eXIf", b""))
    stored = frozen(upright(grey, orientation))
    return Radiograph(
        stored=stored,
        name=path.name,
        path=path,
        facts=FileFacts(
            format="png", bits=8 * stored.dtype.itemsize, orientation=orientation, was_colour=colour
        ),
        pixel_sha256=pixel_hash(stored),
        findings=(*findings, *_resolution(chunks.get(b"pHYs", b""))),
    )


def _resolution(density: bytes) -> list[Finding]:
    if len(density) != 9:
        return []
    across, down = struct.unpack(">II", density[:8])
    per_metre = across if density[8] == 1 else 0
    return [*resolution_note(per_metre * 0.0254), *unequal_note(across, down)]


def _chunks(data: bytes, name: str) -> tuple[dict[bytes, bytes], bytes]:
    """Return the first chunk of each kind but pixels, all checksums tested, and the file without its extras."""
    found: dict[bytes, bytes] = {}
    picture = [memoryview(_SIGNATURE)]
    whole = memoryview(data)
    at, count = len(_SIGNATURE), 0
    while at + 12 <= len(data):
        count += 1
        if count > _MOST_CHUNKS:
            raise damaged(name, f"it has more than {_MOST_CHUNKS} chunks")
        (length,) = struct.unpack(">I", data[at : at + 4])
        end = at + 8 + length
        if end + 4 > len(data):
            break
        kind = data[at + 4 : at + 8]
        if zlib.crc32(whole[at + 4 : end]) != struct.unpack(">I", data[end : end + 4])[0]:
            part = clean(kind.decode("latin-1"))
            raise damaged(name, f"the checksum of a part ({part}) is wrong")
        if kind in _PICTURE:
            picture.append(whole[at : end + 4])
        if kind == b"IEND":
            return found, b"".join(picture)
        if kind != b"IDAT":
            found.setdefault(kind, data[at + 8 : end])
        at = end + 4
    raise damaged(name, "it is cut off")
