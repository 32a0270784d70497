"""Whether the file of an image still holds the picture that was read: programs often export under one name again."""

from __future__ import annotations

from pathlib import Path

from radlength.errors import ImageError, RecordError
from radlength.imaging import Radiograph, read_radiograph

Sign = tuple[int, int]
"""Size in bytes, and time of the last change in nanoseconds."""


def sign_of(path: Path | None) -> Sign | None:
    """Return what a file looks like from outside, ``None`` where there is none: cheap, where its pixels are not."""
    if path is None:
        return None
    try:
        seen = path.stat()
    except OSError:
        return None
    return seen.st_size, seen.st_mtime_ns


def same_picture(one: Radiograph, other: Radiograph) -> bool:
    """Return whether marks and lengths on one hold on the other: the same pixels, stood up alike, of the same size."""
    return (one.pixel_sha256, one.scale) == (other.pixel_sha256, other.scale)


class FileRead:
    """The file of an image as it was when it was read.

    Parameters
    ----------
    sign
        :func:`sign_of` the file just before it was read.
    """

    def __init__(self, sign: Sign | None) -> None:
        self._sign = sign

    def is_exchanged(self, radiograph: Radiograph) -> bool:
        """Return whether the file holds another picture by now, or none that can be read; one that is gone does not.

        Parameters
        ----------
        radiograph
            What was read of it.
        """
        sign = sign_of(radiograph.path)
        if radiograph.path is None or sign is None or sign == self._sign:
            return False
        try:
            same = same_picture(read_radiograph(radiograph.path), radiograph)
        except ImageError:
            return True
        if same:
            self._sign = sign
        return not same

    def refuse_exchanged(self, radiograph: Radiograph) -> None:
        """Refuse to write beside a picture that is not the one that was marked.

        Raises
        ------
        RecordError
            The file was exchanged.
        """
        if self.is_exchanged(radiograph):
            raise RecordError(
                "the file holds another picture by now than the one that was marked; nothing was written",
                remedy="read the file again, or put the picture that was marked back under this name",
                code="image-exchanged",
                subject=radiograph.name,
            )
