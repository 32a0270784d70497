"""What one line of metal that ends, or two of one width, make of a straightened strip, and how well that fits it.

Knows no instrument and tries no places: :mod:`radlength.tracing.pair_fit` does. Metal of both adds up and is seen
through a curve that flattens; what the export sharpens and what lies behind are fitted beside it at no cost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.edge import INDEPENDENT_MM
from radlength.tracing.pair_sums import BLUR_MM, FLAT
from radlength.tracing.strip import steps

FloatArray = NDArray[np.float64]

BACK_MM, AHEAD_MM, HALF_MM = 2.2, 1.0, 0.8
"""How much of the strip before an end, past it and beside is fitted."""
NEAR_MM, FADES_MM = 0.35, 0.25
"""This far beside the line everything counts in full; how much less farther off, SD."""
EVERY = 2
SMOOTH = 0.7
"""Every second row and column of the strip is fitted, smoothed by this many of its steps."""
HALO_MM = 0.15
"""Width of what sharpening takes away round a line, SD."""
THICKENS = 0.8
"""Power of the width that the height of a line goes by."""
OWN = 4
"""Parameters of each line: place across at 0, slope, bend, and where it ends."""
SHARED = 4
"""Of both: half width at the end, how it grows, blur of the end, how much the tone curve flattens."""
STEPS = (0.002, 0.004, 0.004, 0.004, 0.003, 0.002, 0.004)
LOW = ((-1.0, -0.8, -0.3, -3.0), (0.032, 0.0, 0.03, -0.5))
HIGH = ((1.0, 0.8, 0.3, 3.0), (0.36, 0.04, 0.16, 6.0))
USUAL = ((0.0, 0.0, 0.0, 0.0), (0.0, 0.015, 0.07, 0.5))
SPREAD = ((np.inf, 0.4, 0.06, np.inf), (np.inf, 0.01, 0.03, 1.0))
"""Least, most, usual, and how far from that they usually lie, SD."""
FINE_MM, WIDEST_MM, FARTHEST_MM = 0.005, 0.4, 1.6


class Grid(NamedTuple):
    """Places of rows and columns of a strip, millimetres."""

    along_mm: FloatArray
    across_mm: FloatArray


class Parts(NamedTuple):
    """A fit's squares that stay, height and halo, what stays unexplained, and both columns, background taken out."""

    squares: float
    factors: FloatArray
    rest: FloatArray
    columns: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The part of a strip that is fitted.

    Parameters
    ----------
    grid
        Places of its rows and columns.
    weight
        Root of how much every place counts, shape (N,).
    background
        Orthonormal columns of what lies behind, so weighed, shape (N, 12).
    grey
        Grey so weighed, background taken out, shape (N,).
    independent
        How many places are taken to be independent.
    """

    grid: Grid
    weight: FloatArray
    background: FloatArray
    grey: FloatArray
    independent: float


def patch_of(
    strip: NDArray[np.generic], at: FloatArray, across: FloatArray, end_mm: float, place_mm: float
) -> Patch:
    """Return the part of a strip round the end of a line.

    Parameters
    ----------
    strip
        Grey values, metal bright, shape (N, M).
    at, across
        Places along and across in millimetres, equal steps, shapes (N,) and (M,).
    end_mm, place_mm
        Where a line is thought to end, along and across.
    """
    from scipy.ndimage import gaussian_filter  # noqa: PLC0415

    rows = (at >= end_mm - BACK_MM) & (at <= end_mm + AHEAD_MM)
    columns = np.abs(across) <= HALF_MM
    grey = gaussian_filter(strip.astype(np.float64), SMOOTH)[np.ix_(rows, columns)][::EVERY, ::EVERY]
    grid = Grid(at[rows][::EVERY], across[columns][::EVERY])
    along, beside = grid
    x, y = np.meshgrid((along - end_mm) / BACK_MM, beside / HALF_MM, indexing="ij")
    away = np.maximum(np.abs(y * HALF_MM - place_mm) - NEAR_MM, 0) / FADES_MM
    weight = np.exp(-0.25 * away**2).ravel()
    powers = np.stack([x**i * y**j for i in range(4) for j in range(3)], axis=-1).reshape(weight.size, -1)
    background = np.linalg.qr(powers * weight[:, None])[0]
    area = float((along[1] - along[0]) * (beside[1] - beside[0]))
    value = grey.ravel() * weight
    return Patch(
        grid,
        weight,
        background,
        value - background @ (background.T @ value),
        float((weight**2).sum()) * area / INDEPENDENT_MM**2,
    )


def limits(count: int) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most that the parameters of so many lines may be."""
    return _of(LOW, count), _of(HIGH, count)


def usual(found: FloatArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Return how far parameters lie from what is usual, in SD, and one over that SD."""
    spread = 1 / _of(SPREAD, count)
    return (found - _of(USUAL, count)) * spread, spread


def explained(patch: Patch, found: FloatArray, count: int) -> Parts:
    """Return what lines with these parameters leave of a patch."""
    return _solved(patch, _both(patch.grid, found, range(count)))


def added_by(grid: Grid, found: FloatArray, factors: FloatArray, one: int) -> FloatArray:
    """Return the grey that one of two lines adds to the other, shape of the grid.

    Parameters
    ----------
    grid
        Places.
    found, factors
        Parameters, height and halo of the fit.
    one
        Which line, 0 or 1.
    """
    seen = _both(grid, found, (0, 1)) - _both(grid, found, (1 - one,))
    return np.asarray(factors[0] * seen + factors[1] * _halo(grid, seen))


def places_of(course: FloatArray, at: FloatArray) -> FloatArray:
    """Return the places across of a line at places along, shape (N,)."""
    return np.asarray(course[0] + course[1] * at + course[2] * at * at)


def moves(patch: Patch, found: FloatArray, count: int, parts: Parts) -> FloatArray:
    """Return how what is explained moves with every parameter, height and halo kept, shape (N, parameters).

    Notes
    -----
    The linear factors are fitted anew at every place (variable projection, Golub and Pereyra 1973; the shorter form
    of its derivative by Kaufman 1975).
    """
    lines = [_line(patch.grid, found, one) for one in range(count)]
    metal = np.sum(lines, axis=0)
    _, slope, bent = _seen(metal, float(found[-1]))
    changes = []
    shared = [np.zeros_like(metal) for _ in STEPS[OWN:]]
    for one in range(count):
        for number, step in enumerate(STEPS):
            place = number + OWN * (one if number < OWN else count - 1)
            moved = found.copy()
            moved[place] += step
            change = (_line(patch.grid, moved, one) - lines[one]) / step * slope
            if number < OWN:
                changes.append(change)
            else:
                shared[number - OWN] = shared[number - OWN] + change
    every = np.stack([*changes, *shared, bent])
    every = parts.factors[0] * every + parts.factors[1] * _halo(patch.grid, every)
    moved = _weighed(patch, every.reshape(len(every), -1).T)
    return np.asarray(
        moved - parts.columns @ np.linalg.solve(_product(parts.columns), parts.columns.T @ moved)
    )


def _of(table: tuple[tuple[float, ...], tuple[float, ...]], count: int) -> FloatArray:
    return np.array(table[0] * count + table[1])


def _both(grid: Grid, found: FloatArray, lines: Iterable[int]) -> FloatArray:
    """Return how bright lines are seen together."""
    metal = np.sum([_line(grid, found, one) for one in lines], axis=0)
    return _seen(metal, float(found[-1]))[0]


def _line(grid: Grid, found: FloatArray, one: int) -> FloatArray:
    """Return the metal of a line, 1 in its middle at its end."""
    from scipy.special import ndtr  # noqa: PLC0415

    course = found[OWN * one : OWN * one + OWN]
    end = course[-1]
    half, grows, blur = found[-SHARED:-1]
    x = grid.along_mm
    wide = np.maximum(half + grows * (end - x), LOW[1][0])
    high = ndtr((end - x) / blur) * (wide / half) ** THICKENS
    away = grid.across_mm - places_of(course, x)[:, None]
    return np.asarray(_profile(np.abs(away), wide[:, None]) * high[:, None])


def _seen(metal: FloatArray, flat: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how bright metal is seen, and how that changes with the metal and with how much the curve flattens."""
    flat = flat if abs(flat) > 1e-3 else 1e-3
    passes, whole = np.exp(-flat * metal), float(-np.expm1(-flat))
    seen = (1 - passes) / whole
    return seen, flat * passes / whole, (metal * passes - seen * np.exp(-flat)) / whole


def _profile(away: FloatArray, half: FloatArray) -> FloatArray:
    """Return how bright a line of a half width is at distances from its axis, between the places of a table."""
    table = _profiles()
    row = np.clip(half / FINE_MM - 1, 0, table.shape[0] - 1.001)
    column = np.clip(away / FINE_MM, 0, table.shape[1] - 1.001)
    i, j = row.astype(np.intp), column.astype(np.intp)
    down, on = row - i, column - j
    near = table[i, j] * (1 - down) + table[i + 1, j] * down
    far = table[i, j + 1] * (1 - down) + table[i + 1, j + 1] * down
    return np.asarray(near * (1 - on) + far * on)


@cache
def _profiles() -> FloatArray:
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    half = steps(FINE_MM, WIDEST_MM, FINE_MM)[:, None]
    places = steps(-FARTHEST_MM, FARTHEST_MM, FINE_MM)
    thick = np.clip(1 - (places / half) ** 2, 0, None) ** FLAT
    soft = gaussian_filter1d(thick, BLUR_MM / FINE_MM, axis=1)[:, len(places) // 2 :]
    return np.asarray(soft / soft[:, :1])


def _halo(grid: Grid, seen: FloatArray) -> FloatArray:
    """Return what is seen, blurred as widely as sharpening takes away, along the last two axes."""
    from scipy.ndimage import gaussian_filter  # noqa: PLC0415

    sigma = [HALO_MM / (one[1] - one[0]) for one in grid]
    return np.asarray(gaussian_filter(seen, [0.0] * (seen.ndim - 2) + sigma))


def _weighed(patch: Patch, columns: FloatArray) -> FloatArray:
    """Return columns weighed, what lies behind taken out."""
    columns = columns * patch.weight[:, None]
    return np.asarray(columns - patch.background @ (patch.background.T @ columns))


def _product(columns: FloatArray) -> FloatArray:
    product = columns.T @ columns
    return np.asarray(product + 1e-9 * np.trace(product) * np.eye(len(product)))


def _solved(patch: Patch, seen: FloatArray) -> Parts:
    columns = _weighed(patch, np.stack([seen, _halo(patch.grid, seen)], axis=-1).reshape(-1, 2))
    factors = np.linalg.solve(_product(columns), columns.T @ patch.grey)
    rest = patch.grey - columns @ factors
    return Parts(float(rest @ rest), np.asarray(factors), rest, columns)
