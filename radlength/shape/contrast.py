"""Grey images of even contrast: what two exposures of one view have in common."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError

SMOOTH_PX, BROAD_PX = 0.6, 5.0
LEAST_SIDE, MOST_PIXELS = 96, 40_000_000
Even = NDArray[np.float32]


def even_contrast(image: NDArray[Any], name: str) -> Even:
    """Return an image without its slow changes, scaled to the same contrast everywhere, shape kept.

    Parameters
    ----------
    image
        Grey, shape (rows, columns).
    name
        What it is called in a refusal.

    Raises
    ------
    ImageError
        Too small, too large, or without any contrast.

    Notes
    -----
    A band-pass (difference of Gaussians) over its own local root mean square: exposure, gain, bit depth and slow
    shading drop out.
    """
    if image.ndim != 2 or min(image.shape) < LEAST_SIDE or image.size > MOST_PIXELS:
        raise ImageError(
            f"{name} has the shape {image.shape}",
            f"a grey image of {LEAST_SIDE} pixels or more each way, up to {MOST_PIXELS:,} pixels",
            code="registration-size",
        )
    grey = image.astype(np.float32)
    spread = float(grey.std())
    if spread == 0:
        raise ImageError(f"{name} is one grey all over", "an image", code="registration-blank")
    grey = (grey - float(grey.mean())) / spread
    band = _blurred(grey, SMOOTH_PX) - _blurred(grey, BROAD_PX)
    local = np.sqrt(_blurred(band * band, 2 * BROAD_PX))
    floor = 0.25 * float(np.median(local)) + 1e-4
    even: Even = np.clip(band / (local + floor), -4.0, 4.0)
    return np.ascontiguousarray(cv2.GaussianBlur(even, (0, 0), 0.6), dtype=np.float32)


def _blurred(image: Even, sigma: float) -> Even:
    return np.asarray(cv2.GaussianBlur(image, (0, 0), sigma, borderType=cv2.BORDER_REFLECT), dtype=np.float32)
