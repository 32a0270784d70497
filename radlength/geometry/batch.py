"""Lengths of many jittered copies of one path at once, for Monte Carlo through the clicks."""

from __future__ import annotations

import numpy as np

from radlength.geometry.curve import NODES, basis_slope, quadrature
from radlength.geometry.path import FloatArray

FEW, MANY = 12, len(NODES)
"""Quadrature nodes for jittered copies of a sound path, and for any path, folded ones too."""
_CHUNK = 4096


def curve_lengths(paths: FloatArray, degree: int, nodes: int = FEW) -> FloatArray:
    """Return the curve length of every path.

    Parameters
    ----------
    paths
        Shape (M, N, 2): M copies of a path of N points.
    degree
        Degree of the curve of that path.
    nodes
        Quadrature nodes: 12 differ from 32, as :func:`radlength.geometry.fit_curve` uses, by under 1e-4 relative on
        canals, and by more where a path folds back.

    Returns
    -------
    ndarray
        Shape (M,), in the unit of `paths`. The same fit as :func:`radlength.geometry.fit_curve`, each copy
        with its own parameters.
    """
    parts = [_lengths(paths[at : at + _CHUNK], degree, nodes) for at in range(0, len(paths), _CHUNK)]
    return np.concatenate(parts)


def _lengths(paths: FloatArray, degree: int, nodes: int) -> FloatArray:
    chord = paths[:, -1] - paths[:, 0]
    if degree <= 1:
        return np.asarray(np.hypot(chord[:, 0], chord[:, 1]))
    steps = np.diff(paths, axis=1)
    along = np.cumsum(np.hypot(steps[..., 0], steps[..., 1]), axis=1)
    t = along[:, :-1] / along[:, -1:]
    offsets = paths[:, 1:-1] - paths[:, :1] - t[..., None] * chord[:, None, :]
    columns = [t * (1 - t)]
    for _ in range(2, degree):
        columns.append(columns[-1] * t)
    design = np.stack(columns, axis=1)
    coefficients = np.linalg.solve(design @ design.transpose(0, 2, 1), design @ offsets)
    places, weights = quadrature(nodes)
    slopes = basis_slope(places, degree)
    row = chord[:, :1] + coefficients[..., 0] @ slopes.T
    column = chord[:, 1:] + coefficients[..., 1] @ slopes.T
    return np.asarray(np.sqrt(row * row + column * column) @ weights)
