"""Stored grey values of a DICOM file, native or encapsulated, and the hash that binds marks to them."""

from __future__ import annotations

import hashlib
import re
import struct
from typing import Any

import numpy as np

from radlength.errors import ImageError, RadlengthError
from radlength.finding import Finding
from radlength.imaging.apart import decode_apart
from radlength.imaging.decode import damaged, overhear
from radlength.imaging.dicom_colour import GREY_IN_COLOUR, one_of_three, samples_a_pixel
from radlength.imaging.jpeg import FRAME_HEADERS, segments
from radlength.imaging.radiograph import Grey, HashRule, pixel_hash

LOSSLESS = frozenset(
    {
        "1.2.840.10008.1.2",
        "1.2.840.10008.1.2.1",
        "1.2.840.10008.1.2.1.99",
        "1.2.840.10008.1.2.2",
        "1.2.840.10008.1.2.5",
        "1.2.840.10008.1.2.4.57",
        "1.2.840.10008.1.2.4.70",
        "1.2.840.10008.1.2.4.80",
        "1.2.840.10008.1.2.4.90",
        "1.2.840.10008.1.2.4.201",
    }
)
"""Transfer syntaxes that cannot lose anything (PS3.5 A.1 to A.4): the decoded values are the stored ones."""

HIGH_BITS = Finding(
    "image-high-bits",
    "Pixels use bits above those that the header calls stored; these are ignored, as the standard wants it.",
    "Look whether bright places turn dark at a sharp edge; if they do, export the image again.",
)

_PLUGINS = ("pydicom", "pyjpegls", "pylibjpeg", "pillow", "gdcm")
"""Decoders in the order they are asked, one for a file."""

_ABORTING = "gdcm"
"""A damaged frame can make GDCM 3.2.6 end the process; last, and apart."""

_JPEG_FAMILY = "1.2.840.10008.1.2.4."
_JPEG_EXTENDED = "1.2.840.10008.1.2.4.51"
_JPEG_LS_FRAME = 0xF7
_UID = re.compile(r"[0-9.]{1,64}")
_J2K_START = b"\xff\x4f\xff\x51"


def stored_values(dataset: Any, name: str) -> tuple[Grey, list[Finding]]:
    """Return the stored values, shape (rows, columns), and findings.

    Raises
    ------
    ImageError
        No decoder for the transfer syntax, pixels that are not what the header declares, or pixels with colour.
    """
    syntax = dataset.file_meta.TransferSyntaxUID
    if not syntax.is_transfer_syntax:
        told = str(syntax) if _UID.fullmatch(str(syntax)) else "that is none"
        raise _not_read(
            name,
            f"a transfer syntax {told}, which is not read",
            "export it without compression",
            "dicom-syntax",
        )
    if syntax.is_encapsulated:
        _check_frame(dataset, name)
    pixels, remarks = _decoded(dataset, name), []
    shape = (dataset.Rows, dataset.Columns, samples_a_pixel(dataset))
    if pixels.shape != (shape if shape[2] == 3 else shape[:2]):
        raise damaged(name, f"it holds an array of shape {pixels.shape}")
    if pixels.ndim == 3:
        pixels, remarks = one_of_three(pixels, name), [GREY_IN_COLOUR]
    kind = np.uint8 if dataset.BitsAllocated == 8 else np.uint16
    mask = (1 << int(dataset.BitsStored)) - 1
    whole = pixels.astype(kind, copy=False)
    if _uses_bits_above(dataset, whole, mask):
        remarks.append(HIGH_BITS)
    return np.asarray(whole & kind(mask)), remarks


def _uses_bits_above(dataset: Any, pixels: Grey, mask: int) -> bool:
    """Return whether pixels use bits that are not stored values; pydicom clears them in what is not coded."""
    syntax = dataset.file_meta.TransferSyntaxUID
    if dataset.BitsAllocated != 16 or _has_embedded_overlay(dataset):
        return False
    if not syntax.is_encapsulated:
        kind = "<u2" if syntax.is_little_endian else ">u2"
        count = dataset.Rows * dataset.Columns * samples_a_pixel(dataset)
        pixels = np.frombuffer(dataset.PixelData, kind, count)
    return bool((pixels & (0xFFFF ^ mask)).any())


def _has_embedded_overlay(dataset: Any) -> bool:
    """Return whether a drawing lies in bits of the pixels that are not stored values (PS3.5 8.1.2, retired)."""
    tags = (element.tag for element in dataset.elements())
    groups = {tag.group for tag in tags if 0x6000 <= tag.group <= 0x601E and tag.element == 0x0102}
    return any((group, 0x3000) not in dataset for group in groups)


def bind(dataset: Any, stored: Grey, syntax: str) -> tuple[str, HashRule]:
    """Return hash and rule: over the samples where nothing was lost, over the coded frame where it was."""
    if syntax in LOSSLESS:
        return pixel_hash(stored), "stored-samples"
    digest = hashlib.sha256(f"{dataset.Rows}x{dataset.Columns}:dicom:".encode())
    digest.update(_frame(dataset))
    return digest.hexdigest(), "encoded-frame"


def _decoded(dataset: Any, name: str) -> Any:
    syntax = dataset.file_meta.TransferSyntaxUID
    try:
        if not syntax.is_encapsulated:
            return dataset.pixel_array
        plugin = _plugin(syntax)
        if plugin == _ABORTING:
            return decode_apart(dataset, plugin)
        if plugin is not None:
            dataset.pixel_array_options(decoding_plugin=plugin)
        return overhear(lambda: dataset.pixel_array)[0]
    except Exception as exc:
        if "missing dependencies" in str(exc):
            raise _not_read(
                name, syntax.name, "install radlength[dicom] to read it", "dicom-decoder"
            ) from exc
        if isinstance(exc, NotImplementedError) or (syntax == _JPEG_EXTENDED and dataset.BitsStored > 8):
            what = f"{syntax.name}, which is not read"
            raise _not_read(name, what, "export it without loss", "dicom-syntax") from exc
        if syntax.startswith(_JPEG_FAMILY) and dataset.BitsStored < 8:
            what = f"{syntax.name} of {dataset.BitsStored} bits, which is not read"
            raise _not_read(name, what, "export it without compression", "dicom-syntax") from exc
        raise damaged(name, "its pixels cannot be decoded") from exc


def _plugin(syntax: str) -> str | None:
    from pydicom.pixels.decoders.base import get_decoder

    available = get_decoder(syntax).available_plugins
    return next((plugin for plugin in _PLUGINS if plugin in available), None)


def _not_read(name: str, what: str, remedy: str, code: str) -> ImageError:
    return ImageError(f"{name} is stored as {what}", "", remedy, code=code)


def _frame(dataset: Any) -> bytes:
    from pydicom.encaps import get_frame

    return get_frame(dataset.PixelData, 0, number_of_frames=1)


def _check_frame(dataset: Any, name: str) -> None:
    """Refuse a coded frame that is of another size than the header: decoders reserve what the frame says."""
    rows, columns = int(dataset.Rows), int(dataset.Columns)
    if len(dataset.PixelData) > 8 * rows * columns * samples_a_pixel(dataset) + (1 << 20):
        raise damaged(name, "it has more coded data than its rows and columns can need")
    if not str(dataset.file_meta.TransferSyntaxUID).startswith(_JPEG_FAMILY):
        return
    try:
        size, bits, samples = _frame_header(_frame(dataset), name)
    except RadlengthError:
        raise
    except Exception as exc:
        raise damaged(name, "its coded frame cannot be found") from exc
    if size != (rows, columns):
        raise damaged(name, f"it declares {rows} x {columns} pixels, its coded frame {size[0]} x {size[1]}")
    if samples != samples_a_pixel(dataset) or not 2 <= bits <= dataset.BitsAllocated:
        raise damaged(name, f"its coded frame holds {samples} samples of {bits} bits a pixel")


def _frame_header(frame: bytes, name: str) -> tuple[tuple[int, int], int, int]:
    """Return (rows, columns), bits and samples a pixel of a JPEG, JPEG-LS or JPEG 2000 stream.

    Source: ISO/IEC 10918-1 B.2.2 (frame header), 14495-1 C.2.2 (the same, marker F7), 15444-1 A.5.1 (image and
    tile size).
    """
    start = frame.find(_J2K_START)
    if start >= 0 and not frame.startswith(b"\xff\xd8"):
        right, low, left, top = struct.unpack(">IIII", frame[start + 8 : start + 24])
        samples, depth = struct.unpack(">HB", frame[start + 40 : start + 43])
        return (low - top, right - left), (depth & 0x7F) + 1, samples
    for marker, body in segments(frame, name):
        if marker in FRAME_HEADERS or marker == _JPEG_LS_FRAME:
            bits, rows, columns, samples = struct.unpack(">BHHB", body[:6])
            return (rows, columns), bits, samples
    raise damaged(name, "its coded frame states no size")
