"""The sharp fall of a height along a line, as where a wire ends. Knows no image: heights come in, a place goes out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import steps

FloatArray = NDArray[np.float64]

STEP_MM = 0.02
BACK_MM, AHEAD_MM = 0.4, 0.4
"""Part of the heights before and after a place that an edge there is fitted to: a bead may sit 0.5 mm before an end."""
REACH_MM = 0.36
"""How far from the guess the edge may lie."""
BLURS_MM = (0.02, 0.04, 0.07, 0.11)
INDEPENDENT, ROUGH = 10, 0.05
"""Independent residuals of a fit, and the part of a step that may stay unexplained."""
APART_MM, DEEPER, NEARLY = 0.25, 1.3, 0.15
"""Where another fall this far off is deeper by this factor and stands out nearly as much, the edge is not clear."""


@dataclass(frozen=True, slots=True)
class Step:
    """A falling edge.

    Parameters
    ----------
    place_mm
        Where it is.
    height
        How far heights fall there.
    after
        Height just after it, as a part of that fall: 0 where what ended is all that stood out.
    ratio
        The fall over what the fit does not explain; 0 where a deeper fall elsewhere may be meant.
    u_mm
        Standard uncertainty of the place.
    """

    place_mm: float
    height: float
    after: float
    ratio: float
    u_mm: float


NO_STEP = Step(0.0, 0.0, 0.0, 0.0, REACH_MM)


def places_looked_at() -> FloatArray:
    """Return places round a guess at which :func:`fit_step` takes heights, shape (N,)."""
    return steps(-BACK_MM - REACH_MM, AHEAD_MM + REACH_MM, STEP_MM)


def fit_step(height: FloatArray, least: float) -> Step:
    """Return the falling edge that stands out most from what its fit does not explain.

    Parameters
    ----------
    height
        At :func:`places_looked_at`, shape (N,).
    least
        Only falls by more than this count.

    Notes
    -----
    A line of its own before and after the edge, a Gaussian integral between; every place within 0.36 mm and four blurs;
    least squares over the part from 0.4 mm before to 0.4 mm after each place. Not the best fit is taken: what falls
    smoothly, as behind the rim of a crown, is fitted best where nothing ends.

    Examples
    --------
    >>> found = fit_step(50 * np.clip(1.5 - 10 * places_looked_at(), 0, 1), 20)
    >>> bool(abs(found.place_mm - 0.1) < 0.015), bool(found.ratio > 10), bool(abs(found.height - 50) < 4)
    (True, True, True)
    """
    tries = [_tried(height, blur, phase) for blur in BLURS_MM for phase in (0.0, STEP_MM / 2)]
    place, fall, after, rest, blurred = np.concatenate(tries, axis=1)
    high = fall > least
    if not high.any():
        return NO_STEP
    error = blurred * (rest + (ROUGH * fall) ** 2)
    clear = np.where(high, INDEPENDENT * fall**2 / error, -np.inf)
    best = int(clear.argmax())
    weight = np.exp(0.5 * (clear - clear[best]))
    u = float(np.sqrt((weight * (place - place[best]) ** 2).sum() / weight.sum()))
    elsewhere = (np.abs(place - place[best]) > APART_MM) & (fall > DEEPER * fall[best])
    rival = bool((elsewhere & (clear > NEARLY * clear[best])).any())
    ratio = 0.0 if rival else float(fall[best] / np.sqrt(max(rest[best], 1e-12)))
    return Step(float(place[best]), float(fall[best]), float(after[best] / fall[best]), ratio, u)


def _tried(height: FloatArray, blur: float, phase: float) -> FloatArray:
    """Return place, fall, height after it, mean square residual and, for one residual, square error of the fall."""
    from scipy.special import ndtr  # noqa: PLC0415

    at = steps(-BACK_MM, AHEAD_MM, STEP_MM) - phase
    inner = ndtr(-at / blur)
    shape = np.column_stack([inner, inner * at, 1 - inner, (1 - inner) * at])
    parts = np.lib.stride_tricks.sliding_window_view(height, len(at))
    solved = np.linalg.pinv(shape)
    factors = parts @ solved.T
    rest = ((parts - factors @ shape.T) ** 2).mean(axis=1)
    place = STEP_MM * np.arange(len(parts)) - REACH_MM + phase
    error = np.full(len(parts), len(at) * ((solved[0] - solved[2]) ** 2).sum())
    return np.stack([place, factors[:, 0] - factors[:, 2], factors[:, 2], rest, error])
