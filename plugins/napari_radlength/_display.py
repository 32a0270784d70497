"""Ways to show grey values. For the eye only: measuring and tracing use the stored values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Preset:
    """A window on the grey values.

    Parameters
    ----------
    low, high
        Shares of all pixels, 0 to 1, at the ends of the window.
    local
        Whether contrast is stretched locally first (CLAHE).
    """

    low: float = 0.0
    high: float = 1.0
    local: bool = False


PRESETS = {
    "as stored": Preset(),
    "whole tooth": Preset(0.02, 0.998),
    "apex and bone": Preset(0.02, 0.85),
    "crown": Preset(0.45, 1.0),
    "local contrast": Preset(local=True),
}


def shown(grey: NDArray[np.float32], preset: str) -> tuple[NDArray[np.float32], tuple[float, float]]:
    """Return grey values and the window to show them in.

    Parameters
    ----------
    grey
        0 to 1, shape (rows, columns).
    preset
        A name of :data:`PRESETS`.

    Examples
    --------
    >>> grey = np.linspace(0, 1, 101, dtype=np.float32)[None]
    >>> [round(float(side), 2) for side in shown(grey, "crown")[1]]
    [0.45, 1.0]
    """
    chosen = PRESETS[preset]
    if chosen.local:
        return local_contrast(grey), (0.0, 1.0)
    if chosen == Preset():
        return grey, (0.0, 1.0)
    low, high = (
        float(side)
        for side in np.quantile(grey[::2, ::2] if grey.size > 400 else grey, (chosen.low, chosen.high))
    )
    return grey, (low, max(high, low + 1e-3))


def local_contrast(grey: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return grey values with contrast stretched in tiles (contrast limited adaptive equalisation, OpenCV)."""
    import cv2

    values = (np.clip(grey, 0, 1) * 65535).astype(np.uint16)
    stretched = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(values)
    return np.asarray(stretched, dtype=np.float32) / np.float32(65535)


def gamma_of(slider: int) -> float:
    """Return the gamma of a slider from -10 to 10; 1 in the middle.

    Examples
    --------
    >>> gamma_of(0), gamma_of(10)
    (1.0, 2.5)
    """
    return float(round(2.5 ** (slider / 10), 3))
