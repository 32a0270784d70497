"""The falling edge where a bright line ends: how high the line stands along it, and where that height falls.

Knows no image: a straightened strip comes in, places along it go out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
WIDTHS_MM = (0.06, 0.08, 0.11, 0.15, 0.20, 0.27)
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
        return Edge(guess, 0.0, REACH_MM, 0.0, 0.0)
    which = np.unravel_index(int(log.argmax()), log.shape)
    share = np.exp(log - log[which])
    share /= share.sum()
    place = _top(places, log[which[0]], int(which[1]))
    near = np.abs(places - place) <= 0.3
    spread = (share * (places - place) ** 2)[:, near].sum() / share[:, near].sum()
    return Edge(
        place_mm=place,
        height=float(height[which]),
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
