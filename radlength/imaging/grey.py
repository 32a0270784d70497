"""From the arrays that decoders give to one upright grey image."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.radiograph import Grey

_LUMA = (0.299, 0.587, 0.114)
"""Weights of red, green and blue (ITU-R BT.601)."""

_ROWS_AT_ONCE = 256

COLOUR = Finding(
    "image-colour",
    "The file is a colour picture and was made grey; its values are not those of the detector.",
    "Measure on the image as it was exported in grey.",
)
ALPHA = Finding(
    "image-transparent",
    "The file has transparent places; transparency was ignored.",
    "Export the image without layers.",
    "note",
)


UNEQUAL_SHARE = 0.02
"""By how much two resolutions of a file may differ by rounding (common practice, no source)."""


def to_grey(pixels: NDArray[Any], *, order: str, subject: str) -> tuple[Grey, list[Finding], bool]:
    """Return one grey channel, findings, and whether there was colour.

    Parameters
    ----------
    pixels
        Shape (rows, columns) or (rows, columns, channels), uint8 or uint16.
    order
        ``"rgb"`` or ``"bgr"``, with or without alpha after it.
    subject
        File name for the refusal.

    Raises
    ------
    ImageError
        Values that are not 8 or 16 bit unsigned, or a number of channels that no grey or colour picture has.
    """
    if pixels.dtype not in (np.uint8, np.uint16) or pixels.ndim not in (2, 3):
        raise ImageError(
            f"holds {pixels.dtype} values of shape {pixels.shape}",
            "8 or 16 bit unsigned grey values",
            "export the image as it was stored",
            code="image-samples",
            subject=subject,
        )
    if pixels.ndim == 2:
        return pixels, [], False
    findings: list[Finding] = []
    channels = pixels.shape[2]
    if channels in (2, 4):
        if pixels[..., -1].min() < np.iinfo(pixels.dtype).max:
            findings.append(ALPHA)
        pixels = pixels[..., :-1]
    elif channels not in (1, 3):
        raise ImageError(
            f"has {channels} channels", "1 (grey) or 3 (colour)", code="image-samples", subject=subject
        )
    first = pixels[..., 0]
    if pixels.shape[2] == 1 or (
        np.array_equal(first, pixels[..., 1]) and np.array_equal(first, pixels[..., 2])
    ):
        return np.ascontiguousarray(first), findings, False
    weights = np.array(_LUMA if order == "rgb" else _LUMA[::-1], dtype=np.float32)
    grey = np.empty(first.shape, pixels.dtype)
    for row in range(0, len(grey), _ROWS_AT_ONCE):
        part = pixels[row : row + _ROWS_AT_ONCE].astype(np.float32)
        grey[row : row + _ROWS_AT_ONCE] = np.rint(part @ weights)
    return grey, [*findings, COLOUR], True


def upright(pixels: Grey, orientation: int) -> Grey:
    """Return the image as EXIF or TIFF orientation 1 to 8 says it is to be seen.

    Examples
    --------
    >>> upright(np.array([[1, 2]], np.uint8), 6).tolist()
    [[1], [2]]
    >>> upright(np.array([[1, 2]], np.uint8), 3).tolist()
    [[2, 1]]
    """
    if orientation in (5, 6, 7, 8):
        pixels = pixels.T
    if orientation in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    if orientation in (3, 4, 7, 8):
        pixels = pixels[::-1]
    return pixels


def unequal_note(across: float, down: float) -> list[Finding]:
    """Return a doubt where a file's two resolutions, in any one unit, make pixels that are not square.

    Examples
    --------
    >>> [len(unequal_note(*pair)) for pair in ((300, 300), (300, 600), (0, 0))]
    [0, 1, 0]
    """
    if not (across > 0 and down > 0) or abs(across / down - 1) <= UNEQUAL_SHARE:
        return []
    return [
        Finding(
            "resolution-unequal",
            f"The file says {across:g} dots along a row for {down:g} down a column: its pixels may not be square; they"
            " are taken as square.",
            "Look whether the picture is squeezed; if it is, export it with square pixels.",
        )
    ]


def resolution_note(per_inch: float) -> list[Finding]:
    """Return a note where a file carries a plausible resolution tag; such tags are never a scale."""
    if not 300 <= per_inch <= 2000:
        return []
    return [
        Finding(
            "resolution-tag",
            f"The file says {per_inch:.0f} dots per inch; editors write such tags freely, so it is not used.",
            "Mark a reference of known length.",
            "note",
        )
    ]
