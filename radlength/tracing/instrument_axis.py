"""The axis of an instrument: the long bright line between two rough clicks, smooth, to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import directions, steps, strip_along

FloatArray = NDArray[np.float64]

ROW_MM, COLUMN_MM = 0.1, 0.05
FINE = 2
"""Rows of the strip in a row of the search."""
BEYOND_MM = 0.8
"""How far past the click at the tip the line is looked at."""
LEAST_HALF_MM, MOST_HALF_MM, HALF_SHARE = 1.0, 3.5, 0.25
"""Half width of the strip, by the distance of the clicks: a canal bends away from their chord by less."""
SIGMAS_MM = (0.10, 0.17, 0.28, 0.45)
THIN_MM, GROWS = 0.2, 0.03
"""SD of the widest line at a tip, and how much wider it may be a millimetre from it: size 80, taper 0.06."""
ALONG_MM = 0.2
STEPS = 2
"""Columns a line may move from a row to the next: 45 degrees."""
STIFF = 0.35
START_SD_MM, TIP_SD_MM = 0.35, 0.3
"""How far from its click the line may start and end, SD."""
FIRM_MM = 0.05
BEFORE = 5
"""Rows before the click at the tip where lines are told apart: there they have not ended yet."""
HELD = 25
"""Rows along which each of them is followed back."""
APART_MM = 0.12
OTHER_MM = 0.9
"""A line this far from the click may be the one that is meant."""
OTHER_SHARE = 0.35
"""It stands out at least this much of the strongest."""
KNEE_MM = 0.8
"""Bends shorter than this are taken for noise."""


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """A smooth line.

    Parameters
    ----------
    points_mm
        (row, column) every 0.1 mm from the first click to a little past the last, shape (N, 2).
    stands_out
        Answer of the line at every point over what goes on around, shape (N,).
    """

    points_mm: FloatArray
    stands_out: FloatArray


def rough_axes(
    grey: NDArray[np.generic], start_mm: FloatArray, tip_mm: FloatArray, side_mm: FloatArray
) -> tuple[Axis, ...]:
    """Return the axes of bright lines between two clicks, the likeliest first: one for each line near the tip.

    Parameters
    ----------
    grey
        Grey values, metal bright, shape (rows, columns).
    start_mm, tip_mm
        The clicks, (row, column) in millimetres.
    side_mm
        (row, column) size of a pixel.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    chord = tip_mm - start_mm
    length = float(np.hypot(*chord))
    rows = round((length + BEYOND_MM) / ROW_MM)
    fine = steps(0, rows * ROW_MM, ROW_MM / FINE)
    line = start_mm + fine[:, None] * (chord / length)
    half = float(np.clip(HALF_SHARE * length, LEAST_HALF_MM, MOST_HALF_MM))
    across = steps(-half, half, COLUMN_MM)
    strip = strip_along(grey, line, across, side_mm)
    strip = gaussian_filter1d(strip, ALONG_MM / ROW_MM * FINE, axis=0, mode="nearest")[::FINE]
    last = round(length / ROW_MM)
    answer = _bright(strip, length - fine[::FINE])
    reward = _reward(answer, last)
    _, sideways = directions(line[::FINE])
    around = float(np.median(1.4826 * np.median(np.abs(answer), axis=1)))
    found: list[tuple[float, Axis]] = []
    for held in (None, *_others(answer, across, last)):
        column = _search(reward, across, last, held)
        if found and min(abs(across[column[last - BEFORE]] - one[0]) for one in found) < APART_MM:
            continue
        heights = answer[np.arange(len(answer)), column]
        smooth = _smooth(_centred(answer, column, across), np.clip(heights, 0, None), last)
        axis = Axis(line[::FINE] + smooth[:, None] * sideways, heights / max(around, 1e-6))
        found.append((float(across[column[last - BEFORE]]), axis))
    return tuple(axis for _, axis in found)


def _others(answer: FloatArray, across: FloatArray, last: int) -> list[dict[int, float]]:
    """Return lines just before the tip and within reach of its click, each as places across by row."""
    heights = answer[max(last - 3 * BEFORE, 0) : last - BEFORE // 2].mean(axis=0)
    tops = (heights[1:-1] >= heights[:-2]) & (heights[1:-1] > heights[2:])
    near = np.abs(across[1:-1]) <= OTHER_MM
    strong = heights[1:-1] >= OTHER_SHARE * max(float(heights[1:-1][near].max(initial=0.0)), 1e-9)
    return [_back(answer, across, last - BEFORE, int(at) + 1) for at in np.flatnonzero(tops & near & strong)]


def _back(answer: FloatArray, across: FloatArray, row: int, column: int) -> dict[int, float]:
    """Return a line followed back from a place, never more than a column aside from a row to the next."""
    held = {}
    for at in range(row, max(row - HELD, 0), -1):
        low = min(max(column - 1, 0), answer.shape[1] - 3)
        column = low + int(answer[at, low : low + 3].argmax())
        held[at] = float(across[column])
    return held


def _bright(strip: NDArray[np.float32], from_tip_mm: FloatArray) -> FloatArray:
    """Return how much every place looks like a bright line, the best of four widths, in units of its height.

    Wide lines count only where an instrument has grown as wide.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    best = np.full(strip.shape, -np.inf)
    for sigma in SIGMAS_MM:
        steps = sigma / COLUMN_MM
        answer = -gaussian_filter1d(strip, steps, axis=1, order=2, mode="nearest") * steps**1.75
        grown = from_tip_mm >= (sigma - THIN_MM) / GROWS
        best = np.where(grown[:, None], np.maximum(best, answer), best)
    return np.asarray(best, dtype=np.float64)


def _reward(answer: FloatArray, last: int) -> FloatArray:
    strong = np.median(answer[: last + 1].max(axis=1))
    return np.asarray(np.tanh(2 * answer / max(strong, 1e-6)))


def _search(
    reward: FloatArray, across: FloatArray, last: int, held: dict[int, float] | None
) -> NDArray[np.intp]:
    """Return the best column of every row (Viterbi), clicks holding the ends loosely, or a line near the tip."""
    reward = reward.copy()
    reward[0] -= 0.5 * (across / START_SD_MM) ** 2
    if held is None:
        reward[last] -= 0.5 * (across / TIP_SD_MM) ** 2
    for row, place in (held or {}).items():
        reward[row] -= 0.5 * ((across - place) / FIRM_MM) ** 2
    moves = np.arange(-STEPS, STEPS + 1)
    cost = STIFF * moves.astype(np.float64) ** 2
    total, came = reward[0], np.zeros(reward.shape, dtype=np.intp)
    columns = np.arange(reward.shape[1])
    padded = np.full(len(columns) + 2 * STEPS, -np.inf)
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(columns))
    for row in range(1, len(reward)):
        padded[STEPS:-STEPS] = total
        options = windows - cost[:, None]
        best = options.argmax(axis=0)
        came[row] = columns + moves[best]
        total = options[best, columns] + reward[row]
    path = np.empty(len(reward), dtype=np.intp)
    path[-1] = int(total.argmax())
    for row in range(len(reward) - 1, 0, -1):
        path[row - 1] = came[row, path[row]]
    return path


def _centred(answer: FloatArray, column: NDArray[np.intp], across: FloatArray) -> FloatArray:
    """Return the place of the top of a parabola through three answers of each row."""
    at = np.clip(column, 1, answer.shape[1] - 2)
    rows = np.arange(len(answer))
    left, middle, right = (answer[rows, at + move] for move in (-1, 0, 1))
    bend = left - 2 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    return np.asarray(across[at] + np.clip(shift, -1, 1) * COLUMN_MM)


def _smooth(place: FloatArray, weight: FloatArray, last: int) -> FloatArray:
    """Return places smoothed by penalised third differences (Whittaker 1923), far ones counting less.

    Half of a wave of length 2 pi `KNEE_MM` passes.
    """
    weight = np.minimum(weight / max(float(np.median(weight[: last + 1])), 1e-9), 1.0) + 1e-3
    smooth = whittaker(place, weight, (KNEE_MM / ROW_MM) ** 6)
    for _ in range(3):
        off = np.abs(place - smooth)
        doubt = 1 / (1 + (off / max(3 * float(np.median(off)), 0.02)) ** 2)
        smooth = whittaker(place, weight * doubt, (KNEE_MM / ROW_MM) ** 6)
    return smooth


def whittaker(values: FloatArray, weight: FloatArray, stiff: float) -> FloatArray:
    """Return values smoothed so that third differences are small (Whittaker 1923, Eilers 2003).

    Parameters
    ----------
    values, weight
        Shape (N,), N >= 4, weights positive.
    stiff
        Weight of the squared third differences.
    """
    from scipy.linalg import solveh_banded  # noqa: PLC0415

    count = len(values)
    pattern = np.array([-1.0, 3.0, -3.0, 1.0])
    bands = np.zeros((4, count))
    for first in range(4):
        for second in range(first, 4):
            diagonal = bands[3 - (second - first)]
            diagonal[second : second + count - 3] += stiff * pattern[first] * pattern[second]
    bands[3] += weight
    return np.asarray(solveh_banded(bands, weight * values))
