"""Orientation in an EXIF block, wherever a file keeps the block."""

from __future__ import annotations

import struct

_ORIENTATION = 0x0112
_WHOLE = {3: "H", 4: "I"}
"""Kinds of number: the standard wants the short one; some programs write the long one, and others read it."""


def exif_orientation(tiff: bytes) -> int:
    r"""Return the orientation 1 to 8 of an EXIF block, 1 where it has none or is broken.

    Parameters
    ----------
    tiff
        The block from its byte order mark on (EXIF 2.3, 4.6.4: tag 274).

    Examples
    --------
    >>> exif_orientation(b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0")
    6
    >>> exif_orientation(b"no block")
    1
    """
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 10:
        return 1
    (start,) = struct.unpack(order + "I", tiff[4:8])
    if start + 2 > len(tiff):
        return 1
    (count,) = struct.unpack(order + "H", tiff[start : start + 2])
    for entry in range(start + 2, min(start + 2 + 12 * count, len(tiff) - 11), 12):
        tag, kind = struct.unpack(order + "HH", tiff[entry : entry + 4])
        if tag == _ORIENTATION and kind in _WHOLE:
            (value,) = struct.unpack_from(order + _WHOLE[kind], tiff, entry + 8)
            return value if 1 <= value <= 8 else 1
    return 1
