"""Where a bright line ends, to a fraction of a pixel: its axis in the last millimetres, its height along it, the edge.

Knows no instrument: how far beyond the edge a point of a known shape reaches is told elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import directions, steps, strip_along

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
BACK_MM, AHEAD_MM = 3.0, 1.5
"""How much of the line before its end, and of what follows, is looked at."""
HALF_MM = 0.9
"""Half width of the strip."""
CENTRE_MM = 0.16
"""How far from the guessed axis the middle of the line is looked for."""
WIDTHS_MM = (0.06, 0.08, 0.11, 0.15, 0.20, 0.27)
"""Widths of a line looked for, SD of a Gaussian."""
BESIDE = 4.0
"""The background is told within this many widths of the axis."""
REACH_MM = 0.8
"""How far from the guess the end may lie."""
EDGE_BACK_MM, EDGE_AHEAD_MM = 1.3, 0.7
"""Part of the height along the line that the edge is fitted to."""
BLURS_MM = (0.04, 0.07, 0.11, 0.17)
"""Blurs of the edge, SD of a Gaussian."""
INDEPENDENT_MM = 0.12
"""Residuals this far apart are taken to be independent: what lies behind the line changes slowly."""
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
    height
        Step of grey at the edge.
    noise
        SD of what the edge does not explain.
    u_mm
        Standard uncertainty of the edge along the line, from that noise.
    blur_mm, width_mm
        SD of the edge's blur, and of the line across.
    sure
        Probability that the edge is within 0.3 mm of here, given that one of the places looked at is the edge.
    gain
        How much likelier an edge is than a line that goes on, logarithm.
    step
        Height that ends at the edge, as a share of the height before it.
    moved_mm
        Distance from the first guess.
    axis_mm
        (row, column) every 0.1 mm over the last millimetres of the line, shape (N, 2), the last one the edge.
    """

    point_mm: FloatArray
    along: FloatArray
    height: float
    noise: float
    u_mm: float
    blur_mm: float
    width_mm: float
    sure: float
    gain: float
    step: float
    moved_mm: float
    axis_mm: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """An edge fitted to heights along a line: place, blur, step, noise, uncertainty, how sure it is, and gain."""

    place_mm: float
    blur_mm: float
    height: float
    noise: float
    u_mm: float
    sure: float
    gain: float


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
        height=edge.height,
        noise=edge.noise,
        u_mm=edge.u_mm,
        blur_mm=edge.blur_mm,
        width_mm=width,
        sure=edge.sure,
        gain=edge.gain,
        step=edge.height / max(float(heights[(at > -1.2) & (at < -0.2)].mean()), 1e-9),
        moved_mm=float(np.hypot(*(place - guess_mm))),
        axis_mm=shown,
    )


def _at(values: FloatArray, at: FloatArray, place: float | FloatArray) -> FloatArray:
    return np.stack([np.interp(place, at, values[:, axis]) for axis in (0, 1)], axis=-1)


def _along(axis: FloatArray, at: FloatArray, point: FloatArray) -> float:
    return float(at[np.hypot(*(axis - point).T).argmin()])


def _last_part(line: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the line every 0.02 mm round a place, straight on where it stops, and distances from that place."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
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
    bend = np.minimum(left - 2 * middle + right, -1e-9)
    place = across[top] + np.clip(0.5 * (left - right) / bend, -1, 1) * STEP_MM
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


def line_heights(strip: NDArray[np.float32], across: FloatArray, at: FloatArray) -> tuple[FloatArray, float]:
    """Return how high the line stands over a parabola of background at every place along it, and its width.

    Parameters
    ----------
    strip
        Grey values, shape (N, M).
    across, at
        Places across, shape (M,), and along, shape (N,), the end near 0.

    Notes
    -----
    Least squares of a Gaussian beside a constant, a slope and a parabola; the width that stands out most from its
    own noise before the end.
    """
    before = (at > -1.2) & (at < -0.2)
    best = (-np.inf, np.zeros(len(at)), WIDTHS_MM[0])
    for width in WIDTHS_MM:
        filter_ = _matched(across, width)
        heights = np.asarray(strip @ filter_, dtype=np.float64)
        score = float(heights[before].mean() / np.linalg.norm(filter_))
        if score > best[0]:
            best = (score, heights, width)
    return best[1], best[2]


def _matched(across: FloatArray, width: float) -> FloatArray:
    near = np.abs(across) <= max(BESIDE * width, 0.3)
    x = across[near]
    columns = np.stack([np.exp(-0.5 * (x / width) ** 2), np.ones_like(x), x, x * x], axis=1)
    filter_ = np.zeros_like(across)
    filter_[near] = np.linalg.pinv(columns)[0]
    return filter_


def fit_edge(heights: FloatArray, at: FloatArray, guess: float, guess_sd: float) -> Edge:
    """Return the falling edge of heights along a line that fits best, every place and blur tried.

    Parameters
    ----------
    heights
        Shape (N,).
    at
        Places along in millimetres, shape (N,), equal steps.
    guess, guess_sd
        Where it is thought to be, and how well that is known.

    Notes
    -----
    On both sides of the edge the height is a line of its own; between them a Gaussian integral. The evidence for a
    place is the likelihood of normal residuals of unknown SD, with as many independent residuals as there are
    steps of 0.12 mm.
    """
    from scipy.special import ndtr  # noqa: PLC0415

    use = (at > guess - REACH_MM - 0.5) & (at < guess + EDGE_AHEAD_MM + 0.5)
    x, y = at[use], heights[use]
    places = np.arange(guess - REACH_MM, guess + REACH_MM + 1e-9, STEP_MM / 2)
    places = places[(places > x[0] + 0.3) & (places < x[-1] - 0.2)]
    blurs = np.array(BLURS_MM)
    away = x - places[:, None]
    inside = ndtr(-away[None] / blurs[:, None, None])
    shape = np.stack([inside, inside * away, 1 - inside, (1 - inside) * away], axis=-1)
    rest, factors = _solve(shape, y)
    height = factors[..., 0] - factors[..., 2]
    independent = max((x[-1] - x[0]) / INDEPENDENT_MM, 6.0)
    log = -0.5 * independent * np.log(np.maximum(rest, 1e-12))
    log = np.where(height > 0, log, -np.inf) - 0.5 * ((places - guess) / guess_sd) ** 2
    if not np.isfinite(log).any():
        return Edge(guess, BLURS_MM[0], 0.0, float(np.std(y)), REACH_MM, 0.0, 0.0)
    which = np.unravel_index(int(log.argmax()), log.shape)
    share = np.exp(log - log[which])
    share /= share.sum()
    place = _top(places, log[which[0]], int(which[1]))
    near = np.abs(places - place) <= 0.3
    spread = (share * (places - place) ** 2)[:, near].sum() / share[:, near].sum()
    noise = float(np.sqrt(rest[which] / max(len(x) - 6, 1)))
    return Edge(
        place_mm=place,
        blur_mm=float(blurs[which[0]]),
        height=float(height[which]),
        noise=noise,
        u_mm=float(np.sqrt(spread)),
        sure=float(share[:, near].sum()),
        gain=float(0.5 * independent * np.log(_without(x, y) / rest[which])),
    )


def _without(x: FloatArray, y: FloatArray) -> float:
    """Return the sum of squared residuals of a parabola."""
    return float(max(((y - np.polyval(np.polyfit(x, y, 2), x)) ** 2).sum(), 1e-12))


def _solve(shape: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return sums of squared residuals, shape (K, P), and factors, shape (K, P, 4), of many small fits."""
    turned = np.swapaxes(shape, -1, -2)
    product = turned @ shape + 1e-9 * np.eye(shape.shape[-1])
    right = turned @ y
    factors = np.linalg.solve(product, right[..., None])[..., 0]
    rest = float(y @ y) - (right * factors).sum(axis=-1)
    return np.asarray(np.maximum(rest, 1e-12)), np.asarray(factors)


def _top(places: FloatArray, log: FloatArray, best: int) -> float:
    """Return the top of the parabola through the best value and its neighbours."""
    if not 0 < best < len(places) - 1 or not np.isfinite(log[best - 1 : best + 2]).all():
        return float(places[best])
    left, middle, right = log[best - 1 : best + 2]
    bend = left - 2 * middle + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return float(places[best] + shift * (places[1] - places[0]))
