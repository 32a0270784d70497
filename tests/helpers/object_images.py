"""Small images drawn by hand, with a line, a disc or a bar whose place is known exactly."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter

from radlength.imaging import Radiograph

PIXEL_MM = 0.03
FINE = 4
"""Parts of a pixel that shapes are drawn in."""


def image_of(grey, *, noise=1.5, seed=0, pixel_mm=PIXEL_MM, bits=8):
    """Return grey from 0 to 255 with noise as a radiograph."""
    top = (1 << bits) - 1
    noisy = grey + np.random.default_rng(seed).normal(0, noise, grey.shape)
    stored = np.clip(np.rint(noisy * top / 255), 0, top).astype(np.uint8 if bits == 8 else np.uint16)
    return Radiograph.from_array(stored, row_mm=pixel_mm, column_mm=pixel_mm)


def fine_grid(shape):
    """Return (row, column) of the middles of parts of pixels; the first pixel's middle is at (0, 0)."""
    return np.meshgrid(
        *((np.arange(side * FINE) + 0.5) / FINE - 0.5 for side in shape), indexing="ij", sparse=True
    )


def drawn(inside, shape, blur_px=1.2):
    """Return a shape, true where `inside`, as shares of pixels, blurred."""
    rows, columns = inside.shape[0] // FINE, inside.shape[1] // FINE
    shares = inside.reshape(rows, FINE, columns, FINE).mean(axis=(1, 3))
    assert shares.shape == tuple(shape)
    return gaussian_filter(shares, blur_px)


def bent(rows, start=150.0, bend=30.0, length=700):
    """Column of a gently bent instrument."""
    return start + bend * (np.asarray(rows) / length) ** 2


def instrument_grey(
    *, shape=(760, 320), tip_row=640.3, width_mm=0.3, height=110.0, taper=0.02, background=70.0
):
    """Return grey with an instrument along `bent` from row 0 to its tip, wider toward the stop, its end square."""
    rows, columns = fine_grid(shape)
    half = (width_mm / 2 + taper / 2 * (tip_row - rows) * PIXEL_MM) / PIXEL_MM
    inside = (np.abs(columns - bent(rows)) < half) & (rows < tip_row)
    return background + height * drawn(inside, shape)
