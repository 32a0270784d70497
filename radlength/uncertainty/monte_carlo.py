"""Monte Carlo propagation with the stopping rule of JCGM 101:2008, 7.9."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Draw = Callable[[np.random.Generator, int], NDArray[np.float64]]
"""Gives that many independent values of the output quantity."""


@dataclass(frozen=True, slots=True)
class MonteCarloResult:
    """What a Monte Carlo run found.

    Parameters
    ----------
    mean, u, low, high
        Mean, standard deviation and ends of the coverage interval, unit of the draws.
    trials
        Number of values drawn.
    tolerance
        Numerical tolerance asked for (JCGM 101, 7.9.2), unit of the draws.
    settled
        Whether the tolerance was reached before the last allowed block.
    """

    mean: float
    u: float
    low: float
    high: float
    trials: int
    tolerance: float
    settled: bool


def numerical_tolerance(u: float, digits: int) -> float:
    """Return the numerical tolerance of a standard uncertainty (JCGM 101:2008, 7.9.2).

    Written as c × 10^l with c an integer of `digits` digits, the tolerance is half of 10^l.

    Examples
    --------
    >>> numerical_tolerance(35.0, 2), numerical_tolerance(35.0, 1)
    (0.5, 5.0)
    """
    if u <= 0:
        return 0.0
    exponent = math.floor(math.log10(u)) - (digits - 1)
    if round(u / 10.0**exponent) >= 10**digits:
        exponent += 1
    return 0.5 * 10.0**exponent


def block_size(coverage: float) -> int:
    """Return the size of a block, M = max(ceil(100 / (1 - p)), 10 000) (JCGM 101:2008, 7.9.4 b).

    Examples
    --------
    >>> block_size(0.95), block_size(0.99999)
    (10000, 10000000)
    """
    return max(math.ceil(100 / (1 - coverage) - 1e-3), 10_000)


def shortest_interval(values: NDArray[np.float64], coverage: float = 0.95) -> tuple[float, float]:
    """Return the shortest interval holding a share of the values (JCGM 101:2008, 7.7.2).

    Examples
    --------
    >>> tuple(map(float, shortest_interval(np.array([0.0, 1, 2, 3, 10]), 0.8)))
    (0.0, 10.0)
    >>> tuple(map(float, shortest_interval(np.array([0.0, 1, 2, 3, 10]), 0.6)))
    (0.0, 3.0)
    """
    ordered = np.sort(values)
    held = min(int(coverage * len(ordered) + 0.5), len(ordered) - 1)
    widths = ordered[held:] - ordered[: len(ordered) - held]
    at = int(np.argmin(widths))
    return float(ordered[at]), float(ordered[at + held])


def symmetric_interval(values: NDArray[np.float64], coverage: float = 0.95) -> tuple[float, float]:
    """Return the interval that leaves equal shares of the values on both sides (JCGM 101:2008, 7.7.1)."""
    tail = (1 - coverage) / 2
    low, high = np.quantile(values, [tail, 1 - tail])
    return float(low), float(high)


def adaptive_monte_carlo(
    draw: Draw,
    *,
    seed: int,
    coverage: float = 0.95,
    digits: int = 2,
    shortest: bool = False,
    min_blocks: int = 10,
    max_blocks: int = 200,
) -> MonteCarloResult:
    """Draw in blocks until mean, uncertainty and interval are stable.

    Parameters
    ----------
    draw
        Gives n values from a random generator.
    seed
        Seed of the generator: the same seed gives the same result.
    coverage
        Coverage probability of the interval.
    digits
        Meaningful digits of the standard uncertainty, 1 or 2.
    shortest
        Shortest interval instead of the probabilistically symmetric one.
    min_blocks
        Never stop before; two blocks can agree by chance.
    max_blocks
        Stop here at the latest; `settled` is then false.

    Returns
    -------
    MonteCarloResult
        The interval is that of all values together (JCGM 101:2008, 7.9.4 i).
    """
    interval = shortest_interval if shortest else symmetric_interval
    generator = np.random.default_rng(seed)
    size = block_size(coverage)
    blocks: list[NDArray[np.float64]] = []
    summaries: list[tuple[float, float, float, float]] = []
    tolerance, settled = 0.0, False
    while len(blocks) < max_blocks and not settled:
        values = draw(generator, size)
        blocks.append(values)
        summaries.append((float(values.mean()), float(values.std(ddof=1)), *interval(values, coverage)))
        if len(blocks) >= max(min_blocks, 2):
            tolerance = numerical_tolerance(float(np.std(np.concatenate(blocks), ddof=1)), digits)
            spread = np.std(summaries, axis=0, ddof=1) / math.sqrt(len(blocks))
            settled = bool(np.all(2 * spread <= tolerance))
    values = np.concatenate(blocks)
    low, high = interval(values, coverage)
    return MonteCarloResult(
        float(values.mean()), float(values.std(ddof=1)), low, high, len(values), tolerance, settled
    )
