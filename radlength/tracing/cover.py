"""Metal that lies in other canals, and the strip without it.

A filter answers beside a bright line as it does to a dark one. What metal covers is therefore taken out before
anything is looked for: a straight line across, from the grey on one side to that on the other.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.bright import SHORTEST_MM, STRONG, WEAK, highest
from radlength.tracing.corridor import EVERY, FINE_MM, ROW_MM
from radlength.tracing.filters import Table
from radlength.tracing.metal import Heights

Mask = NDArray[np.bool_]

BORDER = 4
"""Steps of 0.05 mm beside a line that its shadow still spoils."""
JOINED = (5, 3)
"""Rows and columns within which tops belong to one line."""
SIDE = 5
"""Columns over which the grey beside a covered place is averaged."""


def covered(found: Heights, around: float) -> Mask:
    """Return the places of a strip that long bright lines cover, shape (rows, 121).

    Parameters
    ----------
    found
        How far places stand out over both sides.
    around
        How much goes on around, grey values.
    """
    import cv2  # noqa: PLC0415

    unit = max(around, found.noise)
    height = found.wide / unit
    tops = (height >= highest(height)) & (height > WEAK)
    strong = tops & (height > STRONG)
    if not strong.any():
        return strong
    strong[strong] = found.alone(strong) > WEAK * unit
    tops = _metal(tops, strong)
    places = np.zeros(tops.shape, np.uint8)
    for half in np.unique(found.wide_half_mm[tops]):
        here = (tops & (found.wide_half_mm == half)).astype(np.uint8)
        reach = 2 * (round(float(half) / FINE_MM) + BORDER) + 1
        places = np.maximum(places, cv2.dilate(here, np.ones((1, reach), np.uint8)))
    long = np.ones((round(SHORTEST_MM / ROW_MM), 1), np.uint8)
    return np.asarray(cv2.morphologyEx(places, cv2.MORPH_OPEN, long) > 0)


def _metal(tops: Mask, strong: Mask) -> Mask:
    """Return the tops of lines that hold 2 mm of strong ones."""
    import cv2  # noqa: PLC0415

    _, line = cv2.connectedComponents(cv2.dilate(tops.astype(np.uint8), np.ones(JOINED, np.uint8)))
    kept = [one for one in np.unique(line[strong]) if _rows(strong & (line == one)) * ROW_MM >= SHORTEST_MM]
    return np.asarray(tops & np.isin(line, kept))


def _rows(places: Mask) -> int:
    return int(places.any(axis=1).sum())


def without(strip: Table, places: Mask) -> Table:
    """Return a strip, shape (3 k + 1, 121), with what is covered, shape (k + 1, 121), taken out."""
    import cv2  # noqa: PLC0415

    hidden = np.repeat(places, EVERY, axis=0)[: len(strip)]
    seen = (~hidden).astype(np.float32)
    total, count = (
        cv2.boxFilter(one, -1, (SIDE, 1), normalize=False, borderType=cv2.BORDER_CONSTANT)
        for one in (strip * seen, seen)
    )
    grey = total / np.maximum(count, 1)
    column = np.broadcast_to(np.arange(strip.shape[1]), strip.shape)
    last = strip.shape[1] - 1
    left = np.maximum.accumulate(np.where(hidden, -1, column), axis=1)
    right = np.minimum.accumulate(np.where(hidden, last + 1, column)[:, ::-1], axis=1)[:, ::-1]
    first, second = np.where(left < 0, right, left), np.where(right > last, left, right)
    first, second = np.clip(first, 0, last), np.clip(second, 0, last)
    part = (column - first) / np.maximum(second - first, 1)
    beside = [np.take_along_axis(grey, at, axis=1) for at in (first, second)]
    across = (1 - part) * beside[0] + part * beside[1]
    whole = hidden.all(axis=1, keepdims=True)
    return np.asarray(np.where(hidden & ~whole, across, strip), dtype=np.float32)
