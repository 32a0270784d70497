"""Where grey falls along rays from a point, and the circle most of those places lie on. Knows no ball."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import sample, steps

FloatArray = NDArray[np.float64]

RAYS = 96
TOPS = 3
"""Steepest places of a ray that may be the rim."""
TRIALS = 400
ON_MM = 0.12
"""How near a circle a place counts as on it: an oblique beam makes an ellipse of it."""


def rays(count: int = RAYS) -> FloatArray:
    """Return unit vectors all round, (row, column), shape (count, 2)."""
    turn = np.arange(count) * (2 * np.pi / count)
    return np.column_stack([np.sin(turn), np.cos(turn)])


def falls(
    grey: NDArray[np.generic], centre_mm: FloatArray, reach_mm: float, side_mm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the steepest falls of grey on rays: (row, column) places (RAYS, TOPS, 2) and steepness (RAYS, TOPS).

    Parameters
    ----------
    grey
        Grey values, shape (rows, columns).
    centre_mm
        Where the rays begin.
    reach_mm
        How far they go.
    side_mm
        (row, column) size of a pixel.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    step = float(side_mm.min())
    at = steps(0, reach_mm, step)
    ways = rays()
    profiles = sample(grey, centre_mm + at[:, None] * ways[:, None], side_mm).astype(np.float64)
    steep = -gaussian_filter1d(profiles, max(0.05 / step, 1.0), axis=1, order=1, mode="nearest")
    tops = (steep[:, 1:-1] >= steep[:, :-2]) & (steep[:, 1:-1] > steep[:, 2:])
    heights = np.where(tops, steep[:, 1:-1], 0.0)
    order = np.argsort(-heights, axis=1)[:, :TOPS]
    places = centre_mm + at[order + 1][..., None] * ways[:, None]
    return places, np.take_along_axis(heights, order, axis=1)


def circle_through_most(
    places: FloatArray, steepness: FloatArray, radii_mm: tuple[float, float]
) -> tuple[FloatArray, float, float]:
    """Return centre, radius and share of rays of the circle that most rays have a place on.

    Parameters
    ----------
    places, steepness
        As :func:`falls` returns them.
    radii_mm
        Least and most radius.

    Notes
    -----
    Circles through three places of three rays, drawn with a fixed seed, the steep ones more often (Fischler and Bolles
    1981). Rays count by the root of their steepness, so that one bright neighbour does not decide.
    """
    rng = np.random.default_rng(0)
    count = len(places)
    weight = np.sqrt(steepness / max(float(steepness.max()), 1e-12))
    chance = steepness / np.maximum(steepness.sum(axis=1, keepdims=True), 1e-12)
    first = rng.integers(count, size=TRIALS)
    chosen = (first[:, None] + np.array([0, 1, 2]) * (count // 3) + rng.integers(-8, 9, (TRIALS, 3))) % count
    picks = np.minimum(
        (chance.cumsum(axis=1)[chosen] < rng.random((TRIALS, 3, 1))).sum(axis=2), places.shape[1] - 1
    )
    centre, radius = circles(places[chosen, picks])
    possible = np.isfinite(radius) & (radius >= radii_mm[0]) & (radius <= radii_mm[1])
    if not possible.any():
        return places.mean(axis=(0, 1)), 0.0, 0.0
    centre, radius = centre[possible], radius[possible]
    away = np.abs(np.linalg.norm(places[None] - centre[:, None, None], axis=-1) - radius[:, None, None])
    on = ((away < ON_MM) * weight).max(axis=2)
    best = int(on.sum(axis=1).argmax())
    return centre[best], float(radius[best]), float((on[best] > 0.05).mean())


def circles(three: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return centres (N, 2) and radii (N,) of circles through three points each, shape (N, 3, 2); NaN where none is.

    Examples
    --------
    >>> centre, radius = circles(np.array([[[0.0, 1.0], [1.0, 0.0], [0.0, -1.0]]]))
    >>> bool(np.allclose(centre, 0)), radius.round(6).tolist()
    (True, [1.0])
    """
    origin = three[:, 0]
    b, c = three[:, 1] - origin, three[:, 2] - origin
    twice = 2 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    twice = np.where(np.abs(twice) < 1e-9, np.nan, twice)
    bb, cc = (b**2).sum(axis=1), (c**2).sum(axis=1)
    offset = np.column_stack([c[:, 1] * bb - b[:, 1] * cc, b[:, 0] * cc - c[:, 0] * bb]) / twice[:, None]
    return origin + offset, np.linalg.norm(offset, axis=1)
