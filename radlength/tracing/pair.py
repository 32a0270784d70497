"""Two lines of metal that run side by side toward their tips, told apart even where their shadows touch.

Knows no instrument: a straightened strip comes in, the course of both lines goes out. In parts of the strip 0.4 mm long
the sum of two lines of one width is fitted at all pairs of places; the likeliest course of the pair is followed through
the parts (Viterbi).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.pair_sums import (
    PLACE_MM,
    PLACES_MM,
    best_widths,
    detail,
    most_told,
    nearest_width,
    tables,
    told_by_pairs,
)
from radlength.tracing.strip import vertex

FloatArray = NDArray[np.float64]

WINDOW_MM = 0.4
"""Length of a part."""
BEYOND_MM = 1.0
"""How far past the guess lines are looked for."""
STIFF, MOVES = 0.6, 2
"""Price of a place aside from a part to the next, squared, and how many a line may move."""
FADES = 0.4
"""A line has ended where it stands out by less than this part of its height before."""
LEAST, LAST = 3, 7
"""Windows a line is seen in, and how many of the last ones say how it runs on."""


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """One of two lines: its place across at every row of the strip, shape (N,), and its height, grey values."""

    across_mm: FloatArray
    height: float


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """Two lines, or one or none where no more are seen.

    Parameters
    ----------
    courses
        The lines.
    half_mm
        Half width of both at every row, shape (N,).
    better
        What two lines explain of the strip before the guess over what one does, a ratio.
    """

    courses: tuple[Course, ...]
    half_mm: FloatArray
    better: float


def find_pair(strip: NDArray[np.generic], at: FloatArray, guess_mm: float) -> Pair:
    """Return the likeliest two lines of one width along a strip.

    Parameters
    ----------
    strip
        Grey values, metal bright, at `ACROSS_MM`, shape (N, 97).
    at
        Places along, equal steps, shape (N,).
    guess_mm
        Place along where one of them is thought to end.
    """
    rows = round(WINDOW_MM / (at[1] - at[0]))
    count = int(np.searchsorted(at, guess_mm + BEYOND_MM)) // rows
    window = strip[: count * rows].reshape(count, rows, -1).mean(axis=1).astype(np.float64)
    centre = at[: count * rows].reshape(count, rows).mean(axis=1)
    window = detail(window)
    lines, product = tables()
    answer = np.einsum("wix,kx->wki", lines, window)
    own = np.einsum("wii->wi", product)[:, None]
    one = np.where(answer > 0, answer**2 / own, 0.0).max(axis=(0, 2))
    tip, grows = best_widths(most_told(answer, product), guess_mm - centre)
    width, row = nearest_width(tip + grows * np.maximum(guess_mm - centre, 0)), np.arange(count)
    told, first, second = told_by_pairs(answer[width, row], product[width])
    rest = np.median((window**2).sum(axis=1) - told.max(axis=(1, 2))) / 40
    path = _follow(told / max(float(rest), 1e-6))
    i, j = path.T
    place = PLACES_MM[path] + _between(told, path)
    height = np.stack([first[row, i, j], second[row, i, j]], axis=1)
    courses = (_course(centre, place[:, side], height[:, side], at) for side in (0, 1))
    before = centre < guess_mm
    return Pair(
        tuple(each for each in courses if each),
        tip + grows * np.maximum(guess_mm - at, 0),
        float(told[row, i, j][before].sum() / max(float(one[before].sum()), 1e-9)),
    )


def _follow(told: FloatArray) -> NDArray[np.intp]:
    """Return the pair of places of every window, shape (K, 2), the first before the second (Viterbi)."""
    count = told.shape[1]
    room = np.full((count + 2 * MOVES, count), -np.inf)
    near = np.lib.stride_tricks.sliding_window_view(room, count, axis=0)
    total, back = told[0], []
    for here in told[1:]:
        room[MOVES:-MOVES] = total
        total, rows = _moved(near)
        room[MOVES:-MOVES] = total
        total, columns = _moved(near)
        total = total + here
        back.append((rows.T, columns))
    total = np.where(np.tri(count, k=-2).T > 0, total, -np.inf)
    i, j = np.unravel_index(int(total.argmax()), total.shape)
    path = [(i, j)]
    for rows, columns in back[::-1]:
        j = j + columns[i, j]
        i = i + rows[i, j]
        path.append((i, j))
    return np.array(path[::-1], dtype=np.intp)


def _moved(near: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the best of every place's neighbours along the first axis, less the price, and which: transposed."""
    moves = np.arange(-MOVES, MOVES + 1)
    options = near - STIFF * (moves**2)[:, None, None]
    best = options.argmax(axis=0)
    return np.take_along_axis(options, best[None], axis=0)[0], moves[best]


def _between(told: FloatArray, path: NDArray[np.intp]) -> FloatArray:
    """Return by how much the places of a path lie beside those of the grid: parabolas, millimetres, shape (K, 2)."""
    row = np.arange(len(path))
    i, j = np.clip(path, 1, told.shape[1] - 2).T
    here = told[row, i, j]
    first = vertex(told[row, i - 1, j], here, told[row, i + 1, j], 0.6)
    second = vertex(told[row, i, j - 1], here, told[row, i, j + 1], 0.6)
    return PLACE_MM * np.stack([first, second], axis=1)


def _course(centre: FloatArray, place: FloatArray, height: FloatArray, at: FloatArray) -> Course | None:
    """Return a line through the windows it is seen in, straight on past the last; none where it is seen in too few."""
    usual = float(np.median(np.sort(height)[-5:]))
    seen = height > FADES * usual
    first = int(seen.argmax())
    over = np.flatnonzero(~seen[first:-1] & ~seen[first + 1 :])
    last = first + int(over[0]) if over.size else len(seen)
    use = (np.flatnonzero(seen[first:last]) + first)[-LAST:]
    if len(use) < LEAST or usual <= 0:
        return None
    x, y = centre[use], place[use]
    degree = 2 if len(use) >= 5 else 1
    weight = np.ones(len(x))
    for _ in range(4):
        curve = np.polyfit(x, y, degree, w=weight)
        off = np.abs(np.polyval(curve, x) - y)
        weight = 1 / np.sqrt(1 + (off / max(2.5 * float(np.median(off)), 0.01)) ** 2)
    end = x[-1] + WINDOW_MM / 2
    near = np.minimum(at, end)
    return Course(np.polyval(curve, near) + (at - near) * np.polyval(np.polyder(curve), end), usual)
