"""What one line of metal that ends, or two of one width, make of a straightened strip, and how well that fits it.

Knows no instrument and tries no places: :mod:`radlength.tracing.pair_fit` does. Metal of both adds up and is seen
through a curve that flattens; what the export sharpens and what lies behind are fitted beside it at no cost.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.edge import INDEPENDENT_MM
from radlength.tracing.pair_sums import profiles

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
"""Least, most, usual, and how far from that they usually lie, SD; of parameters of their own and of those of both."""
FINE_MM, WIDEST_MM, FARTHEST_MM = 0.005, 0.4, 1.6
LEAST = 1e-30
"""Squares of a shape that lies outside the patch."""


class Grid(NamedTuple):
    """Places of rows and columns of a strip, millimetres."""

    along_mm: FloatArray
    across_mm: FloatArray


class Parts(NamedTuple):
    """A fit's squares that stay, height and halo, what stays unexplained, and what both explain, background taken out.

    Of one set of parameters, shapes (), (2,), (N,) and (2, N), or of many, the same after a first axis.
    """

    squares: FloatArray
    factors: FloatArray
    rest: FloatArray
    shapes: FloatArray


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
        Orthonormal columns of what lies behind, so weighed: a polynomial along and across, shape (N, 12).
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
    away = np.maximum(np.abs(beside - place_mm) - NEAR_MM, 0) / FADES_MM
    counts = np.exp(-0.25 * away**2)
    powers = np.vander((along - end_mm) / BACK_MM, 4), np.vander(beside / HALF_MM, 3) * counts[:, None]
    weight = np.tile(counts, len(along))
    background = np.kron(*(np.linalg.qr(one)[0] for one in powers))
    area = float((along[1] - along[0]) * (beside[1] - beside[0]))
    value = grey.ravel() * weight
    return Patch(
        grid,
        weight,
        background,
        value - background @ (background.T @ value),
        float((weight**2).sum()) * area / INDEPENDENT_MM**2,
    )


def limits(found: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most that parameters of one or two lines may be."""
    return _of(LOW, found), _of(HIGH, found)


def usual(found: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how far parameters lie from what is usual, in SD, and one over that SD."""
    spread = 1 / _of(SPREAD, found)
    return (found - _of(USUAL, found)) * spread, spread


def explained(patch: Patch, found: FloatArray) -> Parts:
    """Return what lines with these parameters, of one fit or of many, leave of a patch."""
    seen, _, _ = _seen(_metal(patch.grid, _lines(found)).sum(axis=-3), found[..., -1])
    shapes = _weighed(patch, np.stack([seen, _halo(patch.grid, seen)], axis=-3))
    factors = np.linalg.solve(_product(shapes), shapes @ patch.grey[:, None])[..., 0]
    rest = patch.grey - (factors[..., None, :] @ shapes)[..., 0, :]
    return Parts((rest**2).sum(axis=-1), np.asarray(factors), rest, shapes)


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
    metal = _metal(grid, _lines(found))
    with_it, without = (_seen(each, found[-1])[0] for each in (metal.sum(axis=0), metal[1 - one]))
    seen = with_it - without
    return np.asarray(factors[0] * seen + factors[1] * _halo(grid, seen))


def places_of(course: FloatArray, at: FloatArray) -> FloatArray:
    """Return the places across of a line at places along, shape (N,)."""
    return np.asarray(course[0] + course[1] * at + course[2] * at * at)


def moves(patch: Patch, found: FloatArray, parts: Parts) -> FloatArray:
    """Return how what is explained moves with every parameter, height and halo kept, shape (parameters, N).

    Notes
    -----
    The linear factors are fitted anew at every place (variable projection, Golub and Pereyra 1973; the shorter form
    of its derivative by Kaufman 1975).
    """
    moved = _lines(found)[:, None] + np.vstack([np.zeros(len(STEPS)), np.diag(STEPS)])
    metal = _metal(patch.grid, moved)
    _, slope, bent = _seen(metal[:, 0].sum(axis=0), found[-1])
    change = (metal[:, 1:] - metal[:, :1]) / np.array(STEPS)[:, None, None] * slope
    every = np.concatenate([*change[:, :OWN], change[:, OWN:].sum(axis=0), bent[None]])
    every = parts.factors[0] * every + parts.factors[1] * _halo(patch.grid, every)
    answer = _weighed(patch, every)
    shapes = parts.shapes
    return np.asarray(answer - answer @ shapes.T @ np.linalg.solve(_product(shapes), shapes))


def _of(table: tuple[tuple[float, ...], tuple[float, ...]], found: FloatArray) -> FloatArray:
    own, both = table
    return np.array(own * ((found.shape[-1] - SHARED) // OWN) + both)


def _lines(found: FloatArray) -> FloatArray:
    """Return every line's own parameters and those of both but the tone curve, shape (..., lines, 7)."""
    own = found[..., :-SHARED].reshape(*found.shape[:-1], -1, OWN)
    both = np.broadcast_to(found[..., None, -SHARED:-1], (*own.shape[:-1], SHARED - 1))
    return np.concatenate([own, both], axis=-1)


def _metal(grid: Grid, lines: FloatArray) -> FloatArray:
    """Return the metal of lines, 1 in the middle of each at its end, shape (..., rows, columns)."""
    from scipy.special import ndtr  # noqa: PLC0415

    every = np.moveaxis(lines, -1, 0)[..., None]
    end, half, grows, blur = every[OWN - 1 :]
    before = end - grid.along_mm
    wide = np.maximum(half + grows * before, LOW[1][0])
    high = ndtr(before / blur) * (wide / half) ** THICKENS
    away = grid.across_mm - places_of(every, grid.along_mm)[..., None]
    return np.asarray(_profile(np.abs(away), wide[..., None]) * high[..., None])


def _seen(metal: FloatArray, flat: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how bright metal is seen, and how that changes with the metal and with how much the curve flattens."""
    flat = np.where(np.abs(flat) > 1e-3, flat, 1e-3)[..., None, None]
    passes, whole = np.exp(-flat * metal), -np.expm1(-flat)
    seen = (1 - passes) / whole
    return seen, flat * passes / whole, (metal * passes - seen * np.exp(-flat)) / whole


def _profile(away: FloatArray, half: FloatArray) -> FloatArray:
    """Return how bright a line of a half width is at distances from its axis, between the places of a table."""
    table = profiles(FINE_MM, WIDEST_MM, FARTHEST_MM)
    rows, columns = table.shape
    row = np.clip(half / FINE_MM - 1, 0, rows - 1.001)
    column = np.clip(away / FINE_MM, 0, columns - 1.001)
    i, j = row.astype(np.intp), column.astype(np.intp)
    down, on = row - i, column - j
    first = i * columns + j
    flat = table.ravel()
    near = flat.take(first) * (1 - down) + flat.take(first + columns) * down
    far = flat.take(first + 1) * (1 - down) + flat.take(first + columns + 1) * down
    return np.asarray(near + (far - near) * on)


def _halo(grid: Grid, seen: FloatArray) -> FloatArray:
    """Return what is seen, blurred as widely as sharpening takes away, along the last two axes."""
    down, beside = (_blurs(len(one), round(HALO_MM / float(one[1] - one[0]), 6)) for one in grid)
    return np.asarray(down @ seen @ beside.T)


@lru_cache(maxsize=16)
def _blurs(count: int, sigma: float) -> FloatArray:
    """Return the matrix that blurs so many values, shape (count, count)."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    return np.asarray(gaussian_filter1d(np.eye(count), sigma, axis=0))


def _weighed(patch: Patch, seen: FloatArray) -> FloatArray:
    """Return what is seen, shape (..., rows, columns), weighed, what lies behind taken out, shape (..., N)."""
    value = seen.reshape(*seen.shape[:-2], -1) * patch.weight
    return np.asarray(value - value @ patch.background @ patch.background.T)


def _product(shapes: FloatArray) -> FloatArray:
    """Return the products of shapes with one another, none of them without any length."""
    product = shapes @ np.swapaxes(shapes, -1, -2)
    trace = np.trace(product, axis1=-2, axis2=-1)[..., None, None]
    return np.asarray(product + (1e-9 * trace + LEAST) * np.eye(product.shape[-1]))
