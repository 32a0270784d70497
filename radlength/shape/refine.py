"""A map between two images made exact on their grey values, deaf to places that changed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates, spline_filter

from radlength.shape.contrast import Even

FloatArray = NDArray[np.float64]
MOST_POINTS = 150_000
STAGES = ((3.0, 12), (0.0, 14))
"""Smoothing in pixels, and steps at it."""

TUKEY = 4.685
"""Tuning constant for 95 % efficiency (Beaton and Tukey 1974)."""

SETTLED_PX = 1e-3


def refine_map(
    first: Even, second: Even, matrix: FloatArray, *, plane: bool, ignore: NDArray[np.bool_] | None
) -> FloatArray:
    """Return the map after Gauss-Newton steps on grey values.

    Parameters
    ----------
    first, second
        Images of even contrast.
    matrix
        A map from (column, row, 1) of the first to the second, good to a few pixels, shape (3, 3).
    plane
        A plane map of eight numbers instead of a similarity of four.
    ignore
        Places of the first image to leave out.

    Notes
    -----
    Slopes of the first image, a cubic spline of the second, a free gain and offset, and Tukey's weights on what is left
    over.
    """
    middle = np.array([first.shape[1] / 2, first.shape[0] / 2])
    radius = float(np.hypot(*middle))
    for sigma, steps in STAGES:
        ours = gaussian_filter(first, sigma) if sigma else first
        theirs = gaussian_filter(second, sigma) if sigma else second
        xy = _sampled(ours, ignore)
        wanted = ours[xy[:, 1], xy[:, 0]].astype(np.float64)
        slope = np.column_stack([part[xy[:, 1], xy[:, 0]] for part in np.gradient(ours)[::-1]])
        spline = spline_filter(theirs, order=3)
        columns = np.einsum("ni,nip->np", slope, _basis((xy - middle) / radius, plane))
        for _ in range(steps):
            at = _mapped(matrix, xy)
            inside = _inside(at, theirs.shape)
            if inside.sum() < 200:
                return matrix
            grey = map_coordinates(spline, at[inside][:, ::-1].T, order=3, prefilter=False, mode="nearest")
            step = _solved(wanted[inside], grey, columns[inside])
            matrix = _stepped(matrix, step, middle, radius, plane)
            if np.abs(step).max() < SETTLED_PX:
                break
    return matrix


def _sampled(image: Even, ignore: NDArray[np.bool_] | None) -> NDArray[np.int_]:
    """Return (column, row) of pixels with the steepest surroundings, spread over the image, shape (N, 2)."""
    steep = np.hypot(*np.gradient(image))
    steep[:4] = steep[-4:] = 0
    steep[:, :4] = steep[:, -4:] = 0
    if ignore is not None:
        steep[ignore] = 0
    flat = np.flatnonzero(steep > np.quantile(steep, 0.4))
    every = max(len(flat) // MOST_POINTS, 1)
    rows, columns = np.unravel_index(flat[::every], steep.shape)
    return np.column_stack([columns, rows])


def _basis(unit: FloatArray, plane: bool) -> FloatArray:
    """Return how each number of the map moves a point of the first image, shape (N, 2, parameters)."""
    x, y = unit.T
    zero, one = np.zeros_like(x), np.ones_like(x)
    if plane:
        across = [one, zero, x, y, zero, zero, x * x, x * y]
        down = [zero, one, zero, zero, x, y, x * y, y * y]
    else:
        across, down = [one, zero, x, -y], [zero, one, y, x]
    return np.stack([np.stack(across, axis=1), np.stack(down, axis=1)], axis=1)


def _solved(wanted: FloatArray, grey: FloatArray, columns: FloatArray) -> FloatArray:
    """Return the step of the map in pixels of the first image: weighted least squares with gain and offset."""
    centre = float(np.median(wanted)), float(np.median(grey))
    gain = float(np.dot(wanted - centre[0], grey - centre[1]) / max(np.sum((grey - centre[1]) ** 2), 1e-9))
    left = wanted - centre[0] - gain * (grey - centre[1])
    spread = 1.4826 * float(np.median(np.abs(left - np.median(left)))) + 1e-6
    weight = (1 - np.clip(np.abs(left) / (TUKEY * spread), 0, 1) ** 2) ** 2
    system = np.column_stack([columns, grey, np.ones_like(grey)])
    heavy = system * weight[:, None]
    found = np.linalg.lstsq(heavy.T @ system, heavy.T @ wanted, rcond=1e-12)[0]
    return np.asarray(found[:-2])


def _stepped(
    matrix: FloatArray, step: FloatArray, middle: FloatArray, radius: float, plane: bool
) -> FloatArray:
    """Return the map after moving the points of the first image by the step first."""
    if plane:
        tx, ty, a, b, c, d, p, q = step
        inner = np.array([[radius + a, b, tx], [c, radius + d, ty], [-p / radius, -q / radius, 1]])
        move = np.array([[1, 0, middle[0]], [0, 1, middle[1]], [0, 0, 1]]) @ inner
        into = np.array(
            [[1 / radius, 0, -middle[0] / radius], [0, 1 / radius, -middle[1] / radius], [0, 0, 1]]
        )
        moved = matrix @ move @ into
        return np.asarray(moved / moved[2, 2])
    tx, ty, a, b = step
    grow, turn = a / radius, b / radius
    inner = np.array([[1 + grow, -turn, tx], [turn, 1 + grow, ty], [0, 0, 1]])
    there = np.array([[1, 0, middle[0]], [0, 1, middle[1]], [0, 0, 1]])
    back = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, 1]])
    return np.asarray(matrix @ there @ inner @ back)


def _mapped(matrix: FloatArray, xy: NDArray[np.int_]) -> FloatArray:
    out = np.column_stack([xy, np.ones(len(xy))]) @ matrix.T
    return np.asarray(out[:, :2] / out[:, 2:])


def _inside(at: FloatArray, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    return np.asarray(np.all((at > 3) & (at < np.array(shape[::-1]) - 4), axis=1))
