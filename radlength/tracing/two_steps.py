"""A line on which another one lies ends in two steps: where the shorter ends, the height falls by a part.

Knows no image: heights along a line come in, both places go out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.edge import INDEPENDENT_MM
from radlength.tracing.strip import steps

FloatArray = NDArray[np.float64]

REACH_MM, BEFORE_MM, AFTER_MM = 1.0, 0.7, 0.4
"""How far from the guess steps may lie, and how much more of the line is looked at."""
COARSE_MM, FINE_MM, APART_MM = 0.08, 0.02, 0.24
BLUR_MM = 0.07
BLURS_MM = (0.04, 0.07, 0.11, 0.17)
"""Blur of both steps; and those of one, so that a soft one is not taken for two."""
LEAST_GAIN = 3.0
"""Where two falls are not even this much likelier on the coarse grid, no more is asked."""
SHARE = 0.3
"""Each step is at least this part of both."""


def two_steps(heights: FloatArray, at: FloatArray, guess: float) -> tuple[float, float, float]:
    """Return the places of two falls of heights along a line, and how much likelier they are than one, logarithm.

    Parameters
    ----------
    heights, at
        Heights and places along in millimetres, shape (N,), equal steps.
    guess
        Where the line is thought to end.

    Notes
    -----
    A line before the first fall, one height between them, a line after the second. Where no two falls fit, or
    hardly better, the logarithm is minus infinity.
    """
    use = (at > guess - REACH_MM - BEFORE_MM) & (at < guess + REACH_MM + AFTER_MM)
    x, y = at[use], heights[use]
    places = guess + steps(-REACH_MM, REACH_MM, COARSE_MM)
    places = places[(places > x[0] + 0.3) & (places < x[-1] - 0.2)]
    none = (guess, guess, -np.inf)
    if len(places) < 4:
        return none
    first, second = (places[each] for each in np.triu_indices(len(places), round(APART_MM / COARSE_MM)))
    rest = _rest(x[::2], y[::2], first, second)
    independent = (x[-1] - x[0]) / INDEPENDENT_MM
    if not np.isfinite(rest).any():
        return none
    if 0.5 * independent * np.log(_rest(x[::2], y[::2], places, places).min() / rest.min()) < LEAST_GAIN:
        return none
    near = steps(-COARSE_MM, COARSE_MM, FINE_MM)
    best = int(rest.argmin())
    first, second = (each.ravel() for each in np.meshgrid(first[best] + near, second[best] + near))
    apart = second - first > APART_MM - FINE_MM
    first, second = first[apart], second[apart]
    rest = _rest(x, y, first, second)
    best = int(rest.argmin())
    if not np.isfinite(rest[best]):
        return none
    places = guess + steps(-REACH_MM, REACH_MM, FINE_MM)
    one = min(_rest(x, y, places, places, blur).min() for blur in BLURS_MM)
    gain = 0.5 * independent * np.log(one / rest[best])
    return float(first[best]), float(second[best]), float(gain)


def _rest(
    x: FloatArray, y: FloatArray, first: FloatArray, second: FloatArray, blur: float = BLUR_MM
) -> FloatArray:
    """Return sums of squared residuals of many pairs of places; of one fall where both are the same."""
    from scipy.special import ndtr  # noqa: PLC0415

    one = bool((first == second).all())
    inside, until = (ndtr((place[:, None] - x) / blur) for place in (first, second))
    parts = [inside, inside * (x - first[:, None]), 1 - until, (1 - until) * (x - second[:, None])]
    shape = np.stack(parts if one else [*parts, until - inside], axis=1)
    product = shape @ shape.swapaxes(1, 2) + 1e-9 * np.eye(shape.shape[1])
    right = shape @ y
    factors = np.linalg.solve(product, right[..., None])[..., 0]
    rest = np.maximum(y @ y - (right * factors).sum(axis=1), 1e-9)
    if one:
        return np.asarray(rest)
    before, after, between = factors[:, 0], factors[:, 2], factors[:, 4]
    least = SHARE * (before - after)
    falls = (least > 0) & (before - between > least) & (between - after > least)
    return np.asarray(np.where(falls, rest, np.inf))
