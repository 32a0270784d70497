"""Let the C decoders work without a word on the terminal, and hear what they said.

They write straight to the process's error stream, past Python, and go on after damage that they only mention there.
"""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError
from radlength.finding import Finding

Result = TypeVar("Result")

_LOCK = threading.Lock()
_TIFF_ERROR = "TIFF_Error"
"""Before what libtiff calls an error: OpenCV tells it, then gives the picture as far as it came, and rubbish after."""

UNTIDY = Finding(
    "image-untidy",
    "The decoder found bytes that belong to no part of the picture.",
    "Look at the whole picture; export it again if a part looks wrong.",
)


def overhear(work: Callable[[], Result]) -> tuple[Result, str]:
    """Return what the work returns, and what was written to the process's error stream meanwhile.

    None of it is printed: no list of the words of all decoders would be complete. Calls take turns.
    """
    with _LOCK, tempfile.TemporaryFile() as heard:
        try:
            kept = os.dup(2)
        except OSError:  # a process without an error stream
            return work(), ""
        os.dup2(heard.fileno(), 2)
        try:
            result = work()
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        heard.seek(0)
        return result, heard.read().decode(errors="replace")


def decode(data: bytes, shape: tuple[int, int], *, name: str) -> tuple[NDArray[Any], list[Finding]]:
    """Return the pixels that OpenCV decodes, not turned, and findings.

    Parameters
    ----------
    data
        A PNG, JPEG or TIFF file.
    shape
        (rows, columns) that its header declares.
    name
        File name for the refusal.

    Raises
    ------
    ImageError
        It cannot be decoded, or a part of the picture is missing.
    """
    pixels, words = overhear(lambda: _loudly(data))
    if _TIFF_ERROR in words:
        raise damaged(name, "a part of the picture cannot be decoded")
    if "premature end" in words.lower():
        raise damaged(name, "it is cut off")
    if "corrupt jpeg" in words.lower() and "extraneous" not in words:
        raise damaged(name, "a part of the picture cannot be decoded")
    if pixels is None or pixels.shape[:2] != shape:
        raise damaged(name, "it cannot be decoded")
    return np.asarray(pixels), [UNTIDY] if "extraneous" in words else []


def _loudly(data: bytes) -> NDArray[Any] | None:
    """Return what OpenCV makes of the bytes; its errors are told, whatever the environment says about its log."""
    import cv2

    before = cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_WARNING)
    try:
        return cv2.imdecode(
            np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION
        )
    finally:
        cv2.utils.logging.setLogLevel(before)


def damaged(name: str, how: str) -> ImageError:
    """Return the refusal of a damaged file."""
    return ImageError(
        f"the file is damaged: {how}", "", "export it again", code="image-damaged", subject=name
    )
