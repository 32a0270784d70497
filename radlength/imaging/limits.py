"""How large a file or an image may be, asked before anything is decoded."""

from __future__ import annotations

from pathlib import Path

from radlength.errors import ImageError

MAX_FILE_BYTES = 1_000_000_000
MAX_SIDE = 30_000
MAX_PIXELS = 100_000_000


def check_size(rows: int, columns: int, *, samples: int = 1, subject: str) -> None:
    """Refuse an image whose declared size is nothing or too much.

    Parameters
    ----------
    rows, columns, samples
        Size, and values a pixel.
    subject
        File name for the refusal.

    Raises
    ------
    ImageError
        Under 1 or over 30 000 pixels on a side, or over 100 million values.
    """
    if not (1 <= rows <= MAX_SIDE and 1 <= columns <= MAX_SIDE) or rows * columns * samples > MAX_PIXELS:
        raise ImageError(
            f"declares {rows} x {columns} pixels" + (f" of {samples} values" if samples > 1 else ""),
            f"1 to {MAX_SIDE} on a side, at most {MAX_PIXELS // 1_000_000} million in all",
            "was it meant to be one periapical image?",
            code="image-size",
            subject=subject,
        )


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a regular file of bearable size.

    Raises
    ------
    ImageError
        Missing, a folder or device, too large, or not readable.
    """
    try:
        if not path.exists():
            raise _refused(path, "there is no such file", "file-missing")
        if not path.is_file():
            what = "it is a folder, not a file" if path.is_dir() else "it is not a file"
            raise _refused(path, what, "file-not-regular")
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            raise _refused(path, f"the file has {size / 1e9:.1f} GB, at most 1 GB is read", "file-too-large")
        return path.read_bytes()
    except (OSError, ValueError) as exc:
        raise _refused(path, "the file cannot be read", "file-unreadable") from exc


def _refused(path: Path, wrong: str, code: str) -> ImageError:
    return ImageError(wrong, "", "check the path", code=code, subject=path.name or str(path))
