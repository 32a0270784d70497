"""A drawn image whose canal is known: a dark line that bends, and another image with a bright instrument in it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

ROWS, COLUMNS = 420, 160
CLICKS = [(20.0, 60.0), (210.0, 77.0), (390.0, 103.0)]
"""Reference point, a click along the canal, apex."""
STOP, TIP = (20.0, 80.0), (330.0, 80.0)


def canal_column(row):
    """Return the column of the canal's middle at a row."""
    return 60 + 43 * ((row - 20) / 370) ** 1.4


def canal_pixels(seed=3):
    """Return 8-bit pixels with a dark canal."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    middle = canal_column(np.clip(rows, 20, None))
    grey = 150 - 60 * np.exp(-0.5 * ((columns - middle) / 8.0) ** 2)
    grey = grey + np.random.default_rng(seed).normal(0, 2, grey.shape)
    return grey.clip(0, 255).astype(np.uint8)


def instrument_pixels(seed=4):
    """Return 8-bit pixels with a bright instrument from `STOP` to `TIP`."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    edge = np.clip((TIP[0] - 1 - rows) / 2 + 0.5, 0, 1)
    grey = 90 + 100 * edge * np.exp(-0.5 * ((columns - 80) / 3.5) ** 2)
    grey = grey + np.random.default_rng(seed).normal(0, 1.5, grey.shape)
    return grey.clip(0, 255).astype(np.uint8)


def write_pixels(path: Path, pixels) -> Path:
    """Write pixels as a PNG file."""
    path.write_bytes(cv2.imencode(".png", pixels)[1].tobytes())
    return path
