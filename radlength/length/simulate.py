"""The same length by Monte Carlo: a check of the first-order interval, and the one to print in a report."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from radlength.errors import MarkError
from radlength.geometry.batch import curve_lengths
from radlength.geometry.curve import fit_curve
from radlength.imaging import Radiograph
from radlength.length.estimate import Estimate
from radlength.length.marks import shares_coronal_mark
from radlength.scale import Frame, Scale, scale_for
from radlength.uncertainty import Marking, MonteCarloResult, adaptive_monte_carlo
from radlength.uncertainty.budget import Z95

Level = Literal["clicks", "length"]
"""``clicks``: jitter every mark and fit again. ``length``: draw the contributions of the budget."""

FloatArray = NDArray[np.float64]


def simulate_length(
    estimate: Estimate,
    *,
    radiograph: Radiograph | None = None,
    level: Level = "clicks",
    seed: int = 0,
    digits: int = 2,
) -> MonteCarloResult:
    """Propagate the distributions of an estimate's inputs by Monte Carlo.

    Parameters
    ----------
    estimate
        What was estimated; its marks, scale and budget are drawn from again.
    radiograph
        The image it was estimated on, if any.
    level
        Where the draws start.
    seed
        Same seed, same result.
    digits
        Meaningful digits of the standard uncertainty asked for (JCGM 101:2008, 7.9.2).

    Returns
    -------
    MonteCarloResult
        Canal length in millimetres.

    Raises
    ------
    MarkError
        No such level, or other digits than 1 or 2.
    """
    if level not in get_args(Level) or digits not in (1, 2):
        raise MarkError(
            f"a simulation from {level!r} to {digits!r} digits",
            "from 'clicks' or 'length', to 1 or 2 digits",
            code="simulate-input",
        )
    if level == "length":
        return adaptive_monte_carlo(lambda rng, n: draw_budget(estimate, rng, n), seed=seed, digits=digits)
    frame = Frame.of(radiograph)
    scale = scale_for(estimate.reference, radiograph, canal_name=estimate.canal.label)
    return adaptive_monte_carlo(
        lambda rng, n: draw_clicks(estimate, scale, frame, rng, n), seed=seed, digits=digits
    )


def draw_budget(estimate: Estimate, rng: np.random.Generator, count: int) -> FloatArray:
    """Return canal lengths in millimetres, the budget's lines drawn independently, shape (count,)."""
    lengths = np.full(count, estimate.canal_length.value_mm)
    normal = 0.0
    for line in estimate.budget.lines:
        if line.distribution == "normal":
            normal += line.u_mm**2
        elif line.distribution == "rectangular":
            lengths += rng.uniform(-1.0, 1.0, count) * (line.u_mm * np.sqrt(3))
        else:
            lengths += _two_arms(line.low_mm, line.high_mm, rng, count)
    lengths += rng.standard_normal(count) * np.sqrt(normal)
    return lengths


def draw_clicks(
    estimate: Estimate, scale: Scale, frame: Frame, rng: np.random.Generator, count: int
) -> FloatArray:
    """Return canal lengths in millimetres with every mark jittered and both curves fitted again."""
    marking, factor = estimate.marking, scale.mm_per_unit
    canal = frame.to_units(estimate.canal.path_px)
    curve = fit_curve(canal)
    canals = _jittered(canal, marking, marking.apex_mm, factor, rng, count)
    limit = rng.uniform(-1.0, 1.0, count) * scale.limit_share
    lengths = factor * (1 + limit) * curve_lengths(canals, curve.degree)
    if scale.curve is not None:
        path = scale.curve.clicks
        ends = replace(marking, stop_mm=marking.tip_mm) if scale.method == "beside" else marking
        references = _jittered(path, ends, marking.tip_mm, factor, rng, count)
        if shares_coronal_mark(curve, scale):
            references[:, 0] = canals[:, 0]
        lengths *= scale.curve.length / curve_lengths(references, scale.curve.degree)
    for line in estimate.budget.lines:
        if line.name == "shape of the curve":
            lengths += rng.standard_normal(count) * line.u_mm
        elif line.distribution == "two arms":
            lengths += _two_arms(line.low_mm, line.high_mm, rng, count)
    return np.asarray(lengths)


def _jittered(
    path: FloatArray, marking: Marking, end_mm: float, factor: float, rng: np.random.Generator, count: int
) -> FloatArray:
    sd = np.full(len(path), marking.path_mm)
    sd[0], sd[-1] = marking.stop_mm, end_mm
    jitter = rng.standard_normal((count, len(path), 2))
    return np.asarray(path + jitter * (sd / factor)[:, None])


def _two_arms(low_mm: float, high_mm: float, rng: np.random.Generator, count: int) -> FloatArray:
    z = rng.standard_normal(count)
    return np.asarray(np.where(z < 0, z * low_mm, z * high_mm) / Z95)
