"""TIFF: one full-size page of 8 or 16 bit, min-is-white or min-is-black."""

from __future__ import annotations

import io
import logging
import math
import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.decode import damaged, decode
from radlength.imaging.grey import resolution_note, to_grey, unequal_note, upright
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen, pixel_hash

_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB = 0, 1, 2
_KINDS = {
    _MIN_IS_WHITE: "grey, white is 0",
    _MIN_IS_BLACK: "grey",
    _RGB: "RGB",
    3: "numbers of a table of colours",
    4: "a mask",
    5: "CMYK",
    6: "YCbCr",
    8: "CIELAB",
}
"""Photometric interpretations of TIFF 6.0 in words."""
_NONE, _LZW, _DEFLATE, _PACKBITS = 1, 5, (8, 32946), 32773
_FURTHEST_PAGE = 64
_MOST_CHUNKS = 100_000
_ORIENTATION, _SHORT = 274, 3
_UNASSOCIATED = 2
"""Extra sample that holds transparency by itself (TIFF 6.0, tag 338): OpenCV multiplies colours of 8 bits by it."""

NO_POLARITY = Finding(
    "image-polarity",
    "The file does not say whether 0 is black or white; 0 is taken as black.",
    "Look whether the tooth is bright on the picture; if it is dark, export it again.",
)
logging.getLogger("tifffile").addHandler(logging.NullHandler())


def read_tiff(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a TIFF file."""
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = _only_page(file, path.name)
        _check(page, path.name)
        said = "PhotometricInterpretation" in page.tags
        photometric = (
            int(page.photometric) if said else _MIN_IS_BLACK
        )  # where nothing is said, tifffile says white
        pixels = _pixels(page, data, path.name)
        orientation = _tag(page, "Orientation", 1)
        across, down = (_resolution(page, name) for name in ("XResolution", "YResolution"))
        per_inch = across * {2: 1.0, 3: 2.54}.get(_tag(page, "ResolutionUnit", 2), 0.0)
    if pixels.ndim == 3 and int(page.planarconfig) == 2:
        pixels = np.moveaxis(pixels, 0, -1)
    grey, findings, colour = to_grey(pixels, order="rgb", subject=path.name)
    if not said:
        findings.append(NO_POLARITY)
    orientation = orientation if orientation in range(1, 9) else 1
    grey = frozen(upright(grey, orientation))
    return Radiograph(
        stored=grey,
        name=path.name,
        path=path,
        facts=FileFacts(
            format="tiff",
            bits=8 * grey.dtype.itemsize,
            photometric="MONOCHROME1" if photometric == _MIN_IS_WHITE else "MONOCHROME2",
            orientation=orientation,
            was_colour=colour,
        ),
        pixel_sha256=pixel_hash(grey),
        findings=(*findings, *resolution_note(per_inch), *unequal_note(across, down)),
    )


def _only_page(file: tifffile.TiffFile, name: str) -> Any:
    """Return the one page that is not a thumbnail."""
    pages: list[Any] = []
    for index, page in enumerate(file.pages):
        if index > _FURTHEST_PAGE or len(pages) > 1:
            break
        if not _tag(page, "NewSubfileType", 0) & 1:
            pages.append(page)
    if len(pages) != 1:
        raise ImageError(
            f"has {'no page' if not pages else 'several pages'}",
            "one image",
            "export the page to be measured by itself",
            code="image-pages",
            subject=name,
        )
    return pages[0]


def _check(page: Any, name: str) -> None:
    """Refuse a page that is too large, or holds other values than grey or colour of 8 or 16 bit."""
    rows, columns, samples = page.imagelength, page.imagewidth, page.samplesperpixel
    check_size(rows, columns, samples=samples, subject=name)
    photometric = int(page.photometric)
    if (
        photometric not in (_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB)
        or page.dtype not in (np.uint8, np.uint16)
        or page.bitspersample not in (8, 16)
        or samples not in (1, 2, 3, 4)
        or page.size != rows * columns * samples
    ):
        raise ImageError(
            f"holds {page.dtype} values of {page.bitspersample} bits, {samples} a pixel, as "
            f"{_KINDS.get(photometric, f'photometric interpretation {photometric}')}",
            "8 or 16 bit unsigned grey or RGB",
            "export the image as it was stored"
            if photometric in (_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB)
            else "export it in grey",
            code="image-samples",
            subject=name,
        )


def _pixels(page: Any, data: bytes, name: str) -> NDArray[Any]:
    """Return the decoded page; only what is lossless and bounded in memory is decoded."""
    compression = int(page.compression)
    _check_chunks(page, data, name)
    if compression in _DEFLATE:
        _check_inflated_size(page, data, name)
    if compression in (_NONE, _PACKBITS, *_DEFLATE):
        if sum(page.databytecounts) == 0:
            raise damaged(name, "it is cut off")
        return np.asarray(page.asarray())
    if compression != _LZW or page.photometric == _MIN_IS_WHITE or page.index != 0:
        raise ImageError(
            f"is compressed as {getattr(page.compression, 'name', compression)}, which is not read",
            "no compression, PackBits, Deflate, or LZW where black is 0",
            "export it uncompressed",
            code="image-compression",
            subject=name,
        )
    pixels, _ = decode(_not_turned(page, data), (page.imagelength, page.imagewidth), name=name)
    if page.samplesperpixel == 4 and _UNASSOCIATED in page.extrasamples and pixels[..., 3].min() < 255:
        raise ImageError(
            "is compressed as LZW and has transparent places, whose grey the decoder darkens",
            "LZW without transparency",
            "export it without layers, or uncompressed",
            code="image-compression",
            subject=name,
        )
    return pixels[..., [2, 1, 0, *range(3, pixels.shape[-1])]] if pixels.ndim == 3 else pixels


def _not_turned(page: Any, data: bytes) -> bytes:
    """Return the file with an orientation of 1: OpenCV turns a TIFF by its tag even where it is told not to.

    The whole entry is written anew (TIFF 6.0, section 2): what a broken one points to may be pixels.
    """
    tag = page.tags.get("Orientation")
    if tag is None:
        return data
    layout = "HHQH6x" if page.parent.is_bigtiff else "HHIH2x"
    entry = struct.pack(page.parent.byteorder + layout, _ORIENTATION, _SHORT, 1, 1)
    return data[: tag.offset] + entry + data[tag.offset + len(entry) :]


def _check_chunks(page: Any, data: bytes, name: str) -> None:
    """Refuse strips or tiles that are too many, missing, or over each other: each is decoded by itself.

    tifffile leaves out what is missing and moves up what follows, so that a length across it would be short.
    """
    if len(page.databytecounts) > _MOST_CHUNKS:
        raise damaged(name, f"it has more than {_MOST_CHUNKS} strips or tiles")
    if sum(page.databytecounts) > len(data):
        raise damaged(name, "its strips or tiles lie over each other, or beyond its end")
    whole = len(page.databytecounts) == len(page.dataoffsets) == math.prod(page.chunked)
    if not page.is_contiguous and not (whole and all(page.databytecounts) and all(page.dataoffsets)):
        raise damaged(name, "its strips or tiles do not make up the picture")


def _check_inflated_size(page: Any, data: bytes, name: str) -> None:
    """Refuse strips or tiles that inflate beyond what their page declares, before anything inflates them whole."""
    left = 2 * page.nbytes + (1 << 20)
    for start, count in zip(page.dataoffsets, page.databytecounts, strict=True):
        left -= len(zlib.decompressobj().decompress(data[start : start + count], left + 1))
        if left < 0:
            raise damaged(name, "it inflates to more than it declares")


def _tag(page: Any, name: str, default: int) -> int:
    value = page.tags.valueof(name, default)
    return int(value) if isinstance(value, int) else default


def _resolution(page: Any, name: str) -> float:
    value = page.tags.valueof(name, None)
    if not isinstance(value, tuple) or len(value) != 2 or not value[1]:
        return 0.0
    return float(value[0] / value[1])
