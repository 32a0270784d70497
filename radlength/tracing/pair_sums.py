"""What two lines of metal of one width, added, explain of rows of grey across them, at all pairs of places.

Knows no instrument and no strip: mean rows come in, what is explained goes out.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import steps

FloatArray = NDArray[np.float64]

COLUMN_MM, HALF_MM = 0.025, 1.2
ACROSS_MM = steps(-HALF_MM, HALF_MM, COLUMN_MM)
"""Places across the strip."""
PLACE_MM, REACH_MM = 0.05, 0.9
PLACES_MM = steps(-REACH_MM, REACH_MM, PLACE_MM)
"""Where across it a line may run."""
HALF_WIDTHS_MM = (0.045, 0.06, 0.08, 0.105, 0.135, 0.17, 0.21, 0.26, 0.32)
"""Half widths of a line at its tip."""
GROWS = (0.0, 0.01, 0.02, 0.03)
"""By how much it grows a millimetre: half the taper."""
FINEST_MM, FINE_MM, FARTHEST_MM = 0.04, 0.005, 1.0
"""The first half width of the table of profiles, its steps, and the last place in it."""
BLUR_MM, FLAT = 0.055, 0.4
"""Unsharpness of a line, SD; and the power of its thickness that is seen: thick metal lets little through."""
BROAD_MM = 0.35
"""What changes more slowly than this across is background."""
APART = 0.05
"""Two places are told apart where at least this part of a line is not in the other."""


def line_profile(away_mm: FloatArray, half_mm: FloatArray) -> FloatArray:
    """Return how bright a line of a half width is at distances from its axis, 1 in its middle; arrays that fit."""
    table = profiles(FINEST_MM, HALF_WIDTHS_MM[-1], FARTHEST_MM)
    row = np.clip(np.rint((half_mm - FINEST_MM) / FINE_MM), 0, len(table) - 1).astype(np.intp)
    column = np.clip(np.rint(np.abs(away_mm) / FINE_MM), 0, table.shape[1] - 1).astype(np.intp)
    return np.asarray(table[row, column])


@cache
def profiles(finest_mm: float, widest_mm: float, farthest_mm: float) -> FloatArray:
    """Return profiles of lines by half width and by distance from the axis, both at steps of `FINE_MM`."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    half = steps(finest_mm, widest_mm, FINE_MM)[:, None]
    places = steps(-farthest_mm, farthest_mm, FINE_MM)
    thick = np.clip(1 - (places / half) ** 2, 0, None) ** FLAT
    soft = gaussian_filter1d(thick, BLUR_MM / FINE_MM, axis=1)[:, len(places) // 2 :]
    return np.asarray(soft / soft[:, :1])


def detail(rows: FloatArray) -> FloatArray:
    """Return rows without what changes slowly across."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    return np.asarray(rows - gaussian_filter1d(rows, BROAD_MM / COLUMN_MM, axis=-1, mode="nearest"))


@cache
def tables() -> tuple[FloatArray, FloatArray]:
    """Return lines by width and place, shape (9, 37, 97), and their products, shape (9, 37, 37)."""
    away = ACROSS_MM - PLACES_MM[:, None]
    lines = detail(np.array([line_profile(away, np.array(half)) for half in HALF_WIDTHS_MM]))
    return lines, np.einsum("wix,wjx->wij", lines, lines)


def best_widths(told: FloatArray, away_mm: FloatArray) -> tuple[float, float]:
    """Return the half width at the tip and its growth with which lines explain most; told by width and window."""
    tries = [(tip, grows) for tip in HALF_WIDTHS_MM for grows in GROWS]
    row = np.arange(len(away_mm))
    sums = [told[nearest_width(tip + grows * np.maximum(away_mm, 0)), row].sum() for tip, grows in tries]
    return tries[int(np.argmax(sums))]


def nearest_width(half_mm: FloatArray) -> NDArray[np.intp]:
    """Return the numbers of the half widths in the table next to some."""
    return np.asarray(np.abs(half_mm[:, None] - np.array(HALF_WIDTHS_MM)).argmin(axis=1))


def most_told(answer: FloatArray, product: FloatArray) -> FloatArray:
    """Return the most that two lines anywhere explain, by width and window."""
    i, j = (each.astype(np.intp) for each in np.triu_indices(answer.shape[-1], 2))
    own = np.einsum("wii->wi", product)
    left, right, cross = answer[:, :, i], answer[:, :, j], product[:, i, j][:, None]
    both = own[:, None, i] * own[:, None, j]
    first, second = left * own[:, None, j] - right * cross, right * own[:, None, i] - left * cross
    good = (both - cross**2 > APART * both) & (first > 0) & (second > 0)
    told = np.where(good, (left * first + right * second) / np.where(good, both - cross**2, 1), 0)
    alone = np.where(answer > 0, answer**2 / own[:, None], 0).max(axis=2)
    return np.asarray(np.maximum(told.max(axis=2), alone))


def told_by_pairs(answer: FloatArray, product: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what two lines at all pairs of places explain, and their heights, each of shape (K, 37, 37)."""
    own = np.einsum("kii->ki", product)
    both = own[:, :, None] * own[:, None]
    rest = both - product**2
    apart = rest > APART * both
    rest = np.where(apart, rest, 1.0)
    left, right = answer[:, :, None], answer[:, None]
    first = (left * own[:, None] - right * product) / rest
    second = (right * own[:, :, None] - left * product) / rest
    alone = np.where(answer > 0, answer**2 / own, 0.0)
    alone = np.maximum(alone[:, :, None], alone[:, None])
    told = np.where(apart & (first > 0) & (second > 0), left * first + right * second, alone)
    return told, first, second
