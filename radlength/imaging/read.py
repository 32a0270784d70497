"""Read a file into a Radiograph; the content decides, not the suffix."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from radlength.errors import ImageError, RadlengthError
from radlength.imaging.limits import read_bytes
from radlength.imaging.radiograph import Radiograph

Reader = Callable[[bytes, Path], Radiograph]
_TIFF = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")


def read_radiograph(path: str | os.PathLike[str]) -> Radiograph:
    """Read one radiograph.

    Parameters
    ----------
    path
        A PNG, JPEG, TIFF or DICOM file holding one grey image.

    Returns
    -------
    Radiograph
        Upright, stored values untouched.

    Raises
    ------
    ImageError
        Whatever is wrong with the file, as one sentence.
    """
    path = Path(path)
    data = read_bytes(path)
    try:
        return _reader(data, path.name)(data, path)
    except RadlengthError:
        raise
    except Exception as exc:
        raise ImageError(
            "the file is damaged and cannot be decoded",
            "",
            "export it again from where it was taken",
            code="image-damaged",
            subject=path.name,
        ) from exc


def _reader(data: bytes, name: str) -> Reader:
    if data[128:132] == b"DICM":  # first: the preamble before it may be that of a TIFF file (PS3.10 7.1)
        from radlength.imaging.dicom import read_dicom

        return read_dicom
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        from radlength.imaging.png import read_png

        return read_png
    if data.startswith(b"\xff\xd8"):
        from radlength.imaging.jpeg import read_jpeg

        return read_jpeg
    if data[:4] in _TIFF:
        from radlength.imaging.tiff import read_tiff

        return read_tiff
    if _bare_dicom(data):
        from radlength.imaging.dicom import read_dicom

        return read_dicom
    raise ImageError(
        "not an image of a known kind" if data else "the file is empty",
        "PNG, JPEG, TIFF or DICOM",
        "export it as one of these" if data else "export it again",
        code="image-unknown",
        subject=name,
    )


def _bare_dicom(data: bytes) -> bool:
    """Tell whether this may be a DICOM data set without preamble: it starts in group 2 or 8, of either byte order."""
    little = data[:2] in (b"\x02\x00", b"\x08\x00") and data[3:4] == b"\x00"
    return len(data) > 8 and (little or data[:3] == b"\x00\x08\x00")
