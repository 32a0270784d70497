"""Where a bright line ends, to a fraction of a pixel: its axis in the last millimetres, its height along it, the edge.

Knows no instrument: how far beyond the edge a point of a known shape reaches is told elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.path import cumulative_length
from radlength.tracing.edge import STEP_MM, WIDTHS_MM, fit_edge, line_heights
from radlength.tracing.strip import directions, steps, strip_along, vertex

FloatArray = NDArray[np.float64]

BACK_MM, AHEAD_MM = 3.0, 1.5
"""How much of the line before its end, and of what follows, is looked at."""
HALF_MM = 0.9
"""Half width of the strip."""
CENTRE_MM = 0.16
"""How far from the guessed axis the middle of the line is looked for."""
PASSES = 3


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """The end of a line.

    Parameters
    ----------
    point_mm
        (row, column) of the middle of its edge.
    along
        Unit vector along the line there, outward.
    u_mm
        Standard uncertainty of the edge along the line, from what it does not explain.
    width_mm
        SD of the line across.
    sure
        Probability that the edge is within 0.3 mm of here, given that one of the places looked at is the edge.
    gain
        How much likelier an edge is than a line that goes on, logarithm.
    step
        Height that ends at the edge, as a share of the height before it.
    axis_mm
        (row, column) every 0.1 mm over the last millimetres of the line, shape (N, 2), the last one the edge.
    """

    point_mm: FloatArray
    along: FloatArray
    u_mm: float
    width_mm: float
    sure: float
    gain: float
    step: float
    axis_mm: FloatArray


def find_end(
    grey: NDArray[np.generic],
    line_mm: FloatArray,
    guess_mm: FloatArray,
    side_mm: FloatArray,
    *,
    guess_sd_mm: float = 0.3,
) -> End:
    """Return the end of a bright line near a guess.

    Parameters
    ----------
    grey
        Grey values, the line bright, shape (rows, columns).
    line_mm
        (row, column) points along the line, toward its end and a little past the guess, shape (N, 2).
    guess_mm
        Where it is thought to end.
    side_mm
        (row, column) size of a pixel.
    guess_sd_mm
        How well that is known, SD along the line.
    """
    place, line, width = guess_mm, line_mm, WIDTHS_MM[1]
    for _ in range(PASSES):
        axis, at = _last_part(line, place)
        axis = _recentred(grey, axis, at, side_mm, width)
        across = steps(-HALF_MM, HALF_MM, STEP_MM)
        strip = strip_along(grey, axis, across, side_mm)
        heights, width = line_heights(strip, across, at)
        prior = _along(axis, at, guess_mm)
        edge = fit_edge(heights, at, prior, guess_sd_mm)
        place = _at(axis, at, edge.place_mm)
        line = axis
    along, _ = directions(axis)
    way = _at(along, at, edge.place_mm)
    back = edge.place_mm - 0.1 * np.arange(round((BACK_MM - 0.2) / 0.1), -1, -1)
    shown = _at(axis, at, back[back >= at[0]])
    return End(
        point_mm=place,
        along=way / np.hypot(*way),
        u_mm=edge.u_mm,
        width_mm=width,
        sure=edge.sure,
        gain=edge.gain,
        step=edge.height / max(float(heights[(at > -1.2) & (at < -0.2)].mean()), 1e-9),
        axis_mm=shown,
    )


def _at(values: FloatArray, at: FloatArray, place: float | FloatArray) -> FloatArray:
    return np.stack([np.interp(place, at, values[:, axis]) for axis in (0, 1)], axis=-1)


def _along(axis: FloatArray, at: FloatArray, point: FloatArray) -> float:
    return float(at[np.hypot(*(axis - point).T).argmin()])


def _last_part(line: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the line every 0.02 mm round a place, straight on where it stops, and distances from that place."""
    along = cumulative_length(line)
    foot = float(along[np.hypot(*(line - place).T).argmin()])
    at = steps(-BACK_MM, AHEAD_MM, STEP_MM)
    at = at[(at + foot >= 0)]
    inner = _at(line, along, np.minimum(at + foot, along[-1]))
    way = line[-1] - _at(line, along, along[-1] - 0.5)
    way /= max(float(np.hypot(*way)), 1e-9)
    over = np.maximum(at + foot - along[-1], 0)
    return inner + over[:, None] * way, at


def _recentred(
    grey: NDArray[np.generic], axis: FloatArray, at: FloatArray, side_mm: FloatArray, width: float
) -> FloatArray:
    """Return the axis moved to the middle of the line: a parabola through the last millimetres before the end."""
    from scipy.ndimage import gaussian_filter  # noqa: PLC0415

    reach = round(max(CENTRE_MM, width) / STEP_MM)
    margin = round(3 * width / STEP_MM)
    across = np.arange(-reach - margin, reach + margin + 1).astype(np.float64) * STEP_MM
    strip = strip_along(grey, axis, across, side_mm)
    smooth = -gaussian_filter(strip, (0.1 / STEP_MM, width / STEP_MM), order=(0, 2), mode="nearest")
    use = at < -0.12
    across = across[margin:-margin]
    answer = smooth[use, margin:-margin]
    top = np.clip(answer.argmax(axis=1), 1, len(across) - 2)
    rows = np.arange(len(top))
    left, middle, right = (answer[rows, top + move] for move in (-1, 0, 1))
    place = across[top] + vertex(left, middle, right) * STEP_MM
    weight = np.clip(middle, 0, None) / max(float(np.median(middle)), 1e-9)
    weight = np.clip(weight, 1e-3, 1.0) * np.exp(at[use] / 2.0)
    return axis + _parabola(at[use], place, weight, at)[:, None] * directions(axis)[1]


def _parabola(at: FloatArray, place: FloatArray, weight: FloatArray, where: FloatArray) -> FloatArray:
    """Return a parabola through places, far ones counting less; past the last place it goes straight on."""
    powers = np.stack([np.ones_like(at), at, at * at], axis=1)
    doubt = np.ones_like(at)
    factors = np.zeros(3)
    for _ in range(5):
        root = np.sqrt(weight * doubt)
        factors = np.linalg.lstsq(powers * root[:, None], place * root, rcond=None)[0]
        off = np.abs(place - powers @ factors)
        doubt = 1 / (1 + (off / max(2.5 * float(np.median(off)), 0.005)) ** 2)
    last = at[-1]
    near = np.minimum(where, last)
    values = factors[0] + factors[1] * near + factors[2] * near**2
    return np.asarray(values + (where - near) * (factors[1] + 2 * factors[2] * last))
