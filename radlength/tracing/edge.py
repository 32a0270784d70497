"""The falling edge where a bright line ends: how high the line stands along it, and where that height falls.

Knows no image: a straightened strip comes in, places along it go out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
WIDTHS_MM = (0.06, 0.07, 0.08, 0.095, 0.11, 0.13, 0.15, 0.175, 0.20, 0.235, 0.27)
"""Widths of a line looked for, SD of a Gaussian."""
BESIDE = 4.0
"""The background is told within this many widths of the axis."""
REACH_MM = 0.8
"""How far from the guess the end may lie."""
EDGE_AHEAD_MM = 0.7
"""How far past the guess the edge is fitted."""
BLURS_MM = (0.04, 0.07, 0.11, 0.17)
"""Blurs of the edge, SD of a Gaussian."""
INDEPENDENT_MM = 0.12
"""Residuals this far apart are taken to be independent: what lies behind the line changes slowly."""
NEAR_MM, NEAR_SD_MM = 0.2, 0.4
"""The place found is looked at again, this far to both sides; how much further heights count, SD."""
PAST_MM = (0.15, 1.2)
"""Where past the edge it is seen how high the line's place stands without it."""
LEAST_SD_MM = 0.06
"""The first look tells the place no better than this."""
BEHIND_MM = 0.33
"""And that far apart they are for the uncertainty of the place: bone and the rim of a root change over this distance.
Tips found on simulated images of other detectors and picture processing than the limits were set on scatter by it."""


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """An edge fitted to heights along a line: place, step, uncertainty, how sure it is, and gain."""

    place_mm: float
    height: float
    u_mm: float
    sure: float
    gain: float


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
    Least squares of a Gaussian beside a constant, a slope and a parabola; as wide as the line is before its end.
    """
    width = own_width(strip[(at > -1.2) & (at < -0.2)].mean(axis=0).astype(np.float64), across)
    return np.asarray(strip @ matched(across, width), dtype=np.float64), width


def own_width(profile: FloatArray, across: FloatArray) -> float:
    """Return the one of `WIDTHS_MM` that a bright line in the middle of a profile has.

    Parameters
    ----------
    profile
        Grey across the line, shape (M,).
    across
        Places across in millimetres, equal steps, 0 in the middle, shape (M,).

    Notes
    -----
    The first width at which the second derivative of a Gaussian, times the width to the power of one and a half,
    answers more than at the next one: for a Gaussian line its own (Lindeberg 1998). The root round an instrument, the
    dark rim of picture processing and bone beside it answer at larger widths and are not asked.

    Examples
    --------
    >>> across = np.arange(-45, 46) * 0.02
    >>> root, line = np.exp(-0.5 * (across / 0.6) ** 2), np.exp(-0.5 * (across / 0.08) ** 2)
    >>> own_width(root + line, across)
    0.08
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    step, middle = float(across[1] - across[0]), len(profile) // 2
    answers = [
        -gaussian_filter1d(profile, width / step, order=2, mode="nearest")[middle - 2 : middle + 3].min()
        * width**1.5
        for width in WIDTHS_MM
    ]
    for width, answer, wider in zip(WIDTHS_MM, answers, answers[1:], strict=False):
        if answer > 0 and answer >= wider:
            return width
    return WIDTHS_MM[int(np.argmax(answers))]


def matched(across: FloatArray, width: float) -> FloatArray:
    """Return the weights, shape (M,), by which a profile tells how high a line in its middle stands.

    Parameters
    ----------
    across, width
        Places across, shape (M,), and the width of the line, SD of a Gaussian.
    """
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
    steps of 0.12 mm. What lies more than a millimetre beyond, as the rim of the root, is no straight line and draws the
    edge to it: the place found is fitted once more with far heights counting less.
    """
    use = (at > guess - REACH_MM - 0.5) & (at < guess + EDGE_AHEAD_MM + 0.5)
    x, y = at[use], heights[use]
    places = np.arange(guess - REACH_MM, guess + REACH_MM + 1e-9, STEP_MM / 2)
    places = places[(places > x[0] + 0.3) & (places < x[-1] - 0.2)]
    blurs = np.array(BLURS_MM)
    rest, factors = _solve(_edges(x, places, blurs), y)
    height = factors[..., 0] - factors[..., 2]
    independent = max((x[-1] - x[0]) / INDEPENDENT_MM, 6.0)
    log = -0.5 * independent * np.log(np.maximum(rest, 1e-12))
    log = np.where(height > 0, log, -np.inf) - 0.5 * ((places - guess) / guess_sd) ** 2
    if not np.isfinite(log).any():
        return Edge(guess, 0.0, REACH_MM, 0.0, 0.0)
    which = np.unravel_index(int(log.argmax()), log.shape)
    share = np.exp(log - log[which])
    share /= share.sum()
    place = _top(places, log[which[0]], int(which[1]))
    near = np.abs(places - place) <= 0.3
    u = float(np.sqrt((share * (places - place) ** 2)[:, near].sum() / share[:, near].sum()))
    gain = float(0.5 * independent * np.log(_without(x, y) / rest[which]))
    finer = _once_more(heights, at, place, u) if gain > 0 else (place, u)
    return Edge(finer[0], float(height[which]), finer[1], float(share[:, near].sum()), gain)


def _once_more(heights: FloatArray, at: FloatArray, place: float, u: float) -> tuple[float, float]:
    """Return the place of an edge from what lies near it, and its standard uncertainty.

    Just past a tip sharpened pictures fall below what lies around: that is no metal, and would draw the middle of the
    edge outward. Heights below nothing count as nothing, unless most that follow lie lower, beside other metal.
    """
    beyond = heights[(at > place + PAST_MM[0]) & (at < place + PAST_MM[1])]
    heights = np.maximum(heights, min(float(np.median(beyond)), 0.0)) if beyond.size else heights
    use = np.abs(at - place) < NEAR_MM + 2.5 * NEAR_SD_MM
    x = at[use]
    weight = np.exp(-0.25 * ((x - place) / NEAR_SD_MM) ** 2)
    places = place + np.arange(-NEAR_MM, NEAR_MM + 1e-9, STEP_MM / 2)
    shape = _edges(x, places, np.array(BLURS_MM)) * weight[:, None]
    rest, factors = _solve(shape, heights[use] * weight)
    length = float((weight**2).sum()) * float(at[1] - at[0])
    first = -0.5 * ((places - place) / max(u, LEAST_SD_MM)) ** 2
    log = np.where(factors[..., 0] > factors[..., 2], -0.5 * length * np.log(rest), -np.inf)
    if not np.isfinite(log).any():
        return place, u
    likely, wide = (log / apart + first for apart in (INDEPENDENT_MM, BEHIND_MM))
    which = np.unravel_index(int(likely.argmax()), likely.shape)
    finer = _top(places, likely[which[0]], int(which[1]))
    share = np.exp(wide - wide.max())
    return finer, float(np.sqrt((share * (places - finer) ** 2).sum() / share.sum()))


def _edges(x: FloatArray, places: FloatArray, blurs: FloatArray) -> FloatArray:
    """Return what falling edges are made of, a line before and a line after each, shape (K, P, N, 4)."""
    from scipy.special import ndtr  # noqa: PLC0415

    away = x - places[:, None]
    inside = ndtr(-away[None] / blurs[:, None, None])
    return np.stack([inside, inside * away, 1 - inside, (1 - inside) * away], axis=-1)


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
