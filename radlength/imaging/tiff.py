"""TIFF: one full-size page of 8 or 16 bit, min-is-white or min-is-black."""

from __future__ import annotations

import io
import logging
from pathlib import Path
from typing import Any

import numpy as np
import tifffile

from radlength.errors import ImageError
from radlength.imaging.grey import resolution_note, to_grey, upright
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen, pixel_hash

_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB = 0, 1, 2
logging.getLogger("tifffile").addHandler(logging.NullHandler())


def read_tiff(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a TIFF file."""
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = _only_page(file, path.name)
        check_size(page.imagelength, page.imagewidth, subject=path.name)
        photometric = int(page.photometric)
        if photometric not in (_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB) or page.dtype not in (np.uint8, np.uint16):
            raise ImageError(
                f"holds {page.dtype} values, photometric interpretation {photometric}",
                "8 or 16 bit unsigned grey or RGB",
                "export the image as it was stored",
                code="image-samples",
                subject=path.name,
            )
        pixels = _decode(page, data, path.name)
        orientation = _tag(page, "Orientation", 1)
        per_inch = _per_inch(page)
    if pixels.ndim == 3 and pixels.shape[0] in (3, 4) and pixels.shape[2] not in (3, 4):
        pixels = np.moveaxis(pixels, 0, -1)
    grey, findings, colour = to_grey(pixels, order="rgb", subject=path.name)
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
        findings=(*findings, *resolution_note(per_inch)),
    )


def _only_page(file: tifffile.TiffFile, name: str) -> Any:
    """Return the one page that is not a thumbnail."""
    pages: list[Any] = []
    for index, page in enumerate(file.pages):
        if index > 64 or len(pages) > 1:
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


def _decode(page: Any, data: bytes, name: str) -> np.ndarray[Any, Any]:
    try:
        return np.asarray(page.asarray())
    except ValueError as exc:
        if "imagecodecs" not in str(exc):
            raise
    import cv2

    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION)
    if pixels is None or int(page.photometric) == _MIN_IS_WHITE or page.index != 0:
        raise ImageError(
            f"is compressed as {page.compression.name}, which is not read",
            "no compression, LZW or Deflate",
            "export it uncompressed",
            code="image-compression",
            subject=name,
        )
    return np.asarray(pixels[..., ::-1] if pixels.ndim == 3 else pixels)


def _tag(page: Any, name: str, default: int) -> int:
    value = page.tags.valueof(name, default)
    return int(value) if isinstance(value, int) else default


def _per_inch(page: Any) -> float:
    value = page.tags.valueof("XResolution", None)
    unit = {2: 1.0, 3: 2.54}.get(_tag(page, "ResolutionUnit", 2), 0.0)
    if not isinstance(value, tuple) or len(value) != 2 or not value[1]:
        return 0.0
    return float(unit * value[0] / value[1])
