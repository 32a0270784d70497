"""The surroundings of one apex, enlarged: where the marks matter most."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from radlength.geometry import straight_length
from radlength.length import Estimate
from radlength.report.canvas import Canvas
from radlength.report.colours import DARK, canal_colour, canal_sign
from radlength.report.lettering import BOLD, shortened, text_width, write_boxed
from radlength.report.marks import draw_canals, name_ends

SHARE = 0.22
"""Height of the window over the straight length of the canal."""


def draw_inset(
    grey: NDArray[np.uint8],
    aspect: tuple[float, float],
    estimates: Sequence[Estimate],
    number: int,
    size: tuple[int, int],
) -> NDArray[np.uint8]:
    """Return the surroundings of a canal's apex with all marks; lengths are named where it is the only one.

    Parameters
    ----------
    grey
        The image for the eye, shape (rows, columns), uint8.
    aspect
        Relative size of a pixel, (down, across).
    estimates, number
        Every canal, and which of them is shown in the middle.
    size
        (rows, columns) of the picture.

    Returns
    -------
    ndarray
        RGB, shape (rows, columns, 3), uint8; dark where the window leaves the image.
    """
    path = np.asarray(estimates[number].canal.path_px)
    half_rows = max(0.5 * SHARE * straight_length(path * aspect), 8.0) / aspect[0]
    zoom_down = size[0] / (2 * half_rows + 1)
    zoom = zoom_down, zoom_down * aspect[1] / aspect[0]
    half = np.array([half_rows, (size[1] / zoom[1] - 1) / 2])
    low = np.floor(path[-1] - half).astype(int)
    high = np.ceil(path[-1] + half).astype(int) + 1
    origin_px = float(low[0]), float(low[1])
    canvas = Canvas.over(window_of(grey, low, high), zoom, origin_px=origin_px)
    canvas.pixels = np.ascontiguousarray(canvas.pixels[: size[0], : size[1]])
    draw_canals(canvas, estimates)
    if len(estimates) == 1:
        name_ends(canvas, estimates[number])
    name = shortened(
        estimates[number].canal.label, size[1] - 12 - text_width(canal_sign(number), 18), 18, BOLD
    )
    write_boxed(canvas.pixels, f"{name}{canal_sign(number)}", (0, 0), canal_colour(number), 18, BOLD)
    return canvas.pixels


def window_of(grey: NDArray[np.uint8], low: NDArray[np.int_], high: NDArray[np.int_]) -> NDArray[np.uint8]:
    """Return the pixels from (row, column) `low` up to `high`, which is left out; dark where outside the image."""
    window = np.full(high - low, DARK[0], np.uint8)
    first = np.clip(low, 0, grey.shape)
    last = np.clip(high, 0, grey.shape)
    inside = grey[first[0] : last[0], first[1] : last[1]]
    top, left = first - low
    window[top : top + inside.shape[0], left : left + inside.shape[1]] = inside
    return window
