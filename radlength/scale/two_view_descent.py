"""Least squares by the method of Levenberg and Marquardt, every step within a trusted region.

The steps are those of MINPACK's ``lmder`` (Moré 1978, Lecture Notes in Mathematics 630, 105), taken by Cholesky's
factors of the normal equations: with some eighty unknowns they cost a fraction of its factors of the derivatives.
``scipy.optimize.least_squares`` takes the same way 1.7 times as slowly and misses the 60 ms a pair of a molar.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from radlength.geometry.parts import parts
from radlength.geometry.path import FloatArray

FIRST = 100.0
"""Size of the trusted region at first, in sizes of the parameters."""
NEAR = 0.1
"""A step may miss the edge of the trusted region by this share of it."""
WORTH = 1e-4
"""Least share of the promised gain for which a step is taken."""
_MOST_DAMPINGS = 10


@dataclass(slots=True)
class _Region:
    """How far a step may go, in usual steps of the parameters, and the damping that held the last one within."""

    radius: float
    damping: float = 0.0

    def step(self, normal: FloatArray, gradient: FloatArray) -> FloatArray:
        """Return the best step within the region, and keep its damping."""
        step, length, answer = _solved(normal, gradient, 0.0)
        if length <= (1 + NEAR) * self.radius:
            self.damping = 0.0
            return step
        least = (length - self.radius) / self.radius * answer if math.isfinite(length) else 0.0
        most = math.sqrt(gradient @ gradient) / self.radius
        damping = min(max(self.damping, least), most) or 1e-3 * most
        for _ in range(_MOST_DAMPINGS):
            step, length, answer = _solved(normal, gradient, damping)
            self.damping, over = damping, length - self.radius
            if abs(over) <= NEAR * self.radius:
                break
            least, most = (max(least, damping), most) if over > 0 else (least, min(most, damping))
            damping = (
                max(least, damping + over / self.radius * answer) if math.isfinite(length) else 10 * damping
            )
        return step

    def learn(self, gain: float, slope: float, damped: float, length: float) -> None:
        """Widen or narrow the region by what a step promised and gained, as shares of the squares."""
        ratio = gain / (slope + damped) if slope + damped else 0.0
        if ratio <= 0.25:
            ahead = slope + damped / 2
            shrink = 0.5 if gain >= 0 else max(0.5 * ahead / (ahead - 0.5 * gain), 0.1)
            self.radius, self.damping = shrink * min(self.radius, 10 * length), self.damping / shrink
        elif self.damping == 0 or ratio >= 0.75:
            self.radius, self.damping = 2 * length, self.damping / 2


def least_squares(
    value: Callable[[FloatArray], FloatArray],
    slopes: Callable[[FloatArray], FloatArray],
    p: FloatArray,
    *,
    scale: FloatArray,
    most: int,
    ftol: float = 1e-4,
    xtol: float = 1e-6,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the parameters of a minimum, the residuals there and their derivatives.

    Parameters
    ----------
    value, slopes
        Give the residuals, shape (R,), and their derivatives, shape (R, P).
    p
        Parameters to start from, shape (P,).
    scale
        Size of a usual step of every parameter, shape (P,).
    most
        How often the residuals are looked at, at most.
    ftol, xtol
        It ends where a step promises and gains less than this share of the squares, or the trusted region is smaller
        than this share of the parameters.

    Examples
    --------
    >>> line = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]])
    >>> found, left, _ = least_squares(
    ...     lambda p: line @ p - (1, 3, 5), lambda p: line, np.zeros(2), scale=np.ones(2), most=20
    ... )
    >>> found.round(6).tolist()
    [1.0, 2.0]
    """
    residuals, jacobian = value(p), slopes(p)
    squares, size = float(residuals @ residuals), _length(p / scale)
    region = _Region(FIRST * (size or 1.0))
    looked, ended = 1, squares == 0
    while not ended:
        scaled = jacobian * scale
        normal, gradient = _normal(scaled), scaled.T @ residuals
        taken = False
        while not (taken or ended):
            step = region.step(normal, gradient)
            length = _length(step)
            if looked == 1:
                region.radius = min(region.radius, length)
            there = value(p + step * scale)
            looked += 1
            left = float(there @ there) / squares
            gain = 1 - left if left < 100 else -99.0
            slope, damped = float(step @ normal @ step) / squares, 2 * region.damping * length**2 / squares
            region.learn(gain, slope, damped, length)
            taken = gain >= WORTH * (slope + damped) > 0
            if taken:
                p, residuals, squares = p + step * scale, there, left * squares
                size = _length(p / scale)
            ended = abs(gain) <= ftol and slope + damped <= ftol and gain <= 2 * (slope + damped)
            ended = ended or region.radius <= xtol * size or looked >= most or squares == 0
        jacobian = slopes(p) if taken else jacobian
    return p, residuals, jacobian


def _normal(rows: FloatArray) -> FloatArray:
    """Return rows.T @ rows, in parts too small to be shared among threads."""
    columns = rows.shape[1]
    normal = np.zeros((columns, columns))
    for part in parts(len(rows), columns**2):
        normal += rows[part].T @ rows[part]
    return normal


def _length(vector: FloatArray) -> float:
    return math.sqrt(vector @ vector)


def _solved(normal: FloatArray, gradient: FloatArray, damping: float) -> tuple[FloatArray, float, float]:
    """Return the damped step, its length, and how much damping a length of its own size shorter takes.

    Where the damping is too small for rounded numbers, the step points downhill and its length is infinite.
    """
    from scipy.linalg.lapack import dposv, dpotrs  # noqa: PLC0415

    damped = normal.copy()
    damped.ravel()[:: len(normal) + 1] += damping
    factor, step, failed = dposv(damped.T, -gradient, overwrite_a=True)
    if failed:
        return -gradient, math.inf, math.nan
    squared, answer = float(step @ step), float(step @ dpotrs(factor, step)[0])
    return step, math.sqrt(squared), squared / answer if answer else 0.0
