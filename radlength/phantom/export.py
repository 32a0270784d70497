"""Pixels to files: PNG, TIFF, JPEG, DICOM. Every file says it is simulated where its format lets it."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np

from radlength.errors import PhantomError
from radlength.phantom.render import Rendering
from radlength.phantom.truth import SIMULATED
from radlength.trade import CAUTION

Format = Literal["png", "tiff", "jpeg", "dicom"]
SUFFIXES: dict[Format, str] = {"png": ".png", "tiff": ".tif", "jpeg": ".jpg", "dicom": ".dcm"}


def check_format(file_format: str, bits: int) -> Format:
    """Return a format by its name, if it exists and can hold the bits.

    Raises
    ------
    PhantomError
        An unknown format, or a JPEG of more than 8 bits.
    """
    found = next((name for name in SUFFIXES if name == file_format), None)
    if found is None:
        raise PhantomError(f"a file format {file_format!r}", ", ".join(SUFFIXES), code="phantom-format")
    if found == "jpeg" and bits != 8:
        raise PhantomError(
            f"a JPEG of {bits} bits", "8 bits", "choose png, tiff or dicom", code="phantom-format"
        )
    return found


def write_image(
    path: Path, rendering: Rendering, file_format: Format = "png", *, jpeg_quality: int = 85
) -> None:
    """Write a rendering to a file.

    Parameters
    ----------
    path
        Where to.
    rendering
        What.
    file_format
        ``"png"``, ``"tiff"``, ``"jpeg"`` or ``"dicom"``. 12 bits stand in the low bits of 16.
    jpeg_quality
        1 to 100.

    Raises
    ------
    PhantomError
        The format does not exist or cannot hold the bits.
    """
    check_format(file_format, rendering.detector.bits)
    if file_format == "tiff":
        _write_tiff(path, rendering)
    elif file_format == "dicom":
        from radlength.phantom.dicom import write_dicom  # noqa: PLC0415

        write_dicom(path, rendering)
    else:
        path.write_bytes(_encoded(rendering.pixels, file_format, jpeg_quality))


def _encoded(pixels: np.ndarray, file_format: str, jpeg_quality: int) -> bytes:
    import cv2  # noqa: PLC0415

    if file_format == "png":
        good, data = cv2.imencode(".png", pixels, [cv2.IMWRITE_PNG_COMPRESSION, 9])
    else:
        good, data = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, jpeg_quality])
    if not good:
        raise PhantomError(f"pixels that cannot be written as {file_format}", code="phantom-format")
    return bytes(data.tobytes())


def _write_tiff(path: Path, rendering: Rendering) -> None:
    import tifffile  # noqa: PLC0415

    inverted = rendering.detector.inverted
    tifffile.imwrite(
        path,
        rendering.pixels,
        photometric="miniswhite" if inverted else "minisblack",
        description=f"{SIMULATED}. {CAUTION}",
        compression="zlib",
    )
