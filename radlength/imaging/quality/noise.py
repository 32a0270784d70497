"""Noise: what is left of the image after all that is smooth, robust against edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Grey, Radiograph

LIMIT_PERCENT = 5.0
"""Of the grey range in use (common practice, no source)."""
SOURCE = (
    "mask of Immerkaer 1996, Comput Vis Image Underst 64:300-302 (from memory), its median; "
    "limit: common practice, no source"
)
_TO_SD = 0.6744897501960817
"""Median of the absolute value of a standard normal."""


def noise_sd(image: Grey | NDArray[np.float32]) -> float:
    """Return the standard deviation of white noise, in the unit of the image.

    Parameters
    ----------
    image
        Shape (rows, columns).

    Notes
    -----
    The mask [[1, -2, 1], [-2, 4, -2], [1, -2, 1]] has no answer to any plane or edge along the axes and
    multiplies the SD of white noise by 6. The median of the absolute answer is not moved by the few pixels that
    hold structure. Noise that neighbours share (blur, JPEG) reads low.

    Examples
    --------
    >>> noise = np.random.default_rng(0).normal(0, 3, (200, 200)).astype(np.float32)
    >>> round(noise_sd(noise), 1)
    3.0
    """
    import cv2

    values = np.asarray(image, dtype=np.float32)
    mask = np.array([1, -2, 1], dtype=np.float32)
    step = cv2.sepFilter2D(values, cv2.CV_32F, mask, mask)
    inner = np.abs(step[1:-1, 1:-1]).ravel()
    if inner.size > _MOST:
        inner = inner[:: inner.size // _MOST + 1]
    return float(np.median(inner)) / _TO_SD / 6


_MOST = 400_000


def noise(radiograph: Radiograph) -> Measure:
    """Return the noise as a percentage of the grey range in use (1st to 99th percentile)."""
    stored = radiograph.stored
    if min(stored.shape) < 16:
        return not_measured("noise", "%", "The image is too small.", SOURCE)
    low, high = used_range(stored)
    if high - low < 4:
        return not_measured("noise", "%", "The image has hardly any contrast.", SOURCE)
    share = 100 * noise_sd(stored) / (high - low)
    return Measure(
        "noise",
        share,
        "%",
        "doubt" if share > LIMIT_PERCENT else "good",
        f"Noise is {share:.2g} % of the grey range in use; more than {LIMIT_PERCENT:g} % hides fine tips.",
        SOURCE,
        "Do not read fine detail off this image; check the exposure settings before the next patient.",
    )


def used_range(stored: Grey) -> tuple[int, int]:
    """Return the 1st and 99th percentile of the stored values."""
    shares = np.cumsum(np.bincount(stored.ravel())) / stored.size
    low, high = np.searchsorted(shares, [0.01, 0.99])
    return int(low), int(high)
