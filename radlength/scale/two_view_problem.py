"""Two images as one least-squares problem: what is unknown, and what counts as likely.

Unknown are both sources, the move of the tooth between the images, every canal as a polynomial in space, the place of
every instrument's tip along its canal, and the pose of the marker (or its points, where its shape is not known).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.curve import NODES, WEIGHTS
from radlength.geometry.path import FloatArray
from radlength.scale.two_view_geometry import TERMS, rotation, term_bends, term_slopes
from radlength.scale.two_view_priors import BEND_PRIOR, TOOTH_DEPTH_MM, Priors

IntArray = NDArray[np.intp]

CAMERA = 12
PER_CANAL = 3 * TERMS
CENTRE: FloatArray = np.array([0.0, 0.0, TOOTH_DEPTH_MM])
BEND_AT: FloatArray = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
FIXED, TIP, FOOT = 0, 1, 2
LEAST_U_LENGTH_MM = 0.005
_ALONG: FloatArray = np.append(NODES, 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Clicks:
    """Every click on a canal or an instrument, all in one list, those on the straight image first.

    Parameters
    ----------
    xy
        Millimetres on the detector about the middle of the marks of its image, shape (N, 2).
    canal, view
        Which canal, which image, shape (N,).
    role
        `FIXED` at an end, `TIP` of an instrument, `FOOT` anywhere along, shape (N,).
    t
        Parameter along the canal to start from, shape (N,).
    sd
        Standard deviation, millimetres, shape (N,).
    tool
        Which instrument a tip belongs to, shape (N,).
    """

    xy: FloatArray
    canal: IntArray
    view: IntArray
    role: IntArray
    t: FloatArray
    sd: FloatArray
    tool: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """The known side of the problem.

    Parameters
    ----------
    clicks
        Clicks on canals and instruments.
    canals
        How many canals.
    tools
        (canal, length, standard uncertainty) of every instrument.
    beside_xy
        Marks beside the tooth, both images, shape (2, M, 2).
    shape
        Shape of the marker turned to its first guess, shape (M, 3), or ``None`` where its points are free.
    beside_sd
        Standard deviation of those marks, millimetres.
    priors
        What counts as likely.
    angle_rad, u_angle_rad
        Shift with its sign.
    directions, lengths
        Rough direction of every canal, shape (C, 3), and rough length, shape (C,).
    """

    clicks: Clicks
    canals: int
    tools: tuple[tuple[int, float, float], ...]
    beside_xy: FloatArray
    shape: FloatArray | None
    beside_sd: float
    priors: Priors
    angle_rad: float
    u_angle_rad: float
    directions: FloatArray
    lengths: FloatArray

    @property
    def beside(self) -> int:
        """How many parameters the marks beside the tooth take."""
        return 6 if self.shape is not None else 3 * int(self.beside_xy.shape[1])

    @property
    def canal_at(self) -> int:
        """Where the first canal's parameters start."""
        return CAMERA + self.beside

    @property
    def tip_at(self) -> int:
        """Where the tips' parameters start."""
        return self.canal_at + PER_CANAL * self.canals

    @property
    def size(self) -> int:
        """How many parameters there are."""
        return self.tip_at + len(self.tools)

    def curves(self, p: FloatArray) -> FloatArray:
        """Return the polynomials of all canals, shape (C, TERMS, 3)."""
        return p[self.canal_at : self.tip_at].reshape(self.canals, TERMS, 3)

    def beside_points(self, p: FloatArray) -> FloatArray:
        """Return the points beside the tooth in space, shape (M, 3)."""
        if self.shape is None:
            return p[CAMERA : self.canal_at].reshape(-1, 3)
        return self.shape @ rotation(p[CAMERA : CAMERA + 3])[0].T + p[CAMERA + 3 : CAMERA + 6]


def arcs(curves: FloatArray, ends: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return lengths of curves from 0 to their `ends`, and how they change with the terms and with the ends.

    Parameters
    ----------
    curves
        Shape (N, TERMS, 3).
    ends
        Parameter where each ends, shape (N,).

    Returns
    -------
    tuple of ndarray
        Shapes (N,), (N, TERMS, 3) and (N,).
    """
    slopes = term_slopes(ends[:, None] * _ALONG)
    velocity = slopes @ curves
    speed = np.sqrt(np.sum(velocity * velocity, axis=2))
    weights = ends[:, None] * WEIGHTS
    unit = velocity[:, :-1] * (weights / speed[:, :-1])[:, :, None]
    by_curve = slopes[:, :-1].transpose(0, 2, 1) @ unit
    return np.sum(weights * speed[:, :-1], axis=1), by_curve, speed[:, -1]


def beams(p: FloatArray, turn: FloatArray | None = None) -> FloatArray:
    """Return the ways from the tooth to both sources, in the frame of the first image, shape (2, 3)."""
    turn = rotation(p[6:9])[0] if turn is None else turn
    return np.array([p[:3] - CENTRE, turn.T @ (p[3:6] - CENTRE - p[9:12])])


def linear_priors(problem: Problem) -> tuple[FloatArray, FloatArray]:
    """Return what counts as likely as a matrix and its target, one row a statement."""
    rows: list[FloatArray] = []
    targets: list[float] = []

    def state(where: dict[int, float], target: float, sd: float) -> None:
        row = np.zeros(problem.size)
        for column, weight in where.items():
            row[column] = weight / sd
        rows.append(row)
        targets.append(target / sd)

    priors = problem.priors
    state({0: 1.0}, 0.0, priors.source_columns_mm)
    state({1: 1.0}, 0.0, priors.source_rows_mm)
    state({2: 1.0}, priors.distance_mm, priors.u_distance_mm)
    if not priors.declared:
        state({3: 1.0}, priors.distance_mm * math.tan(problem.angle_rad), priors.source_columns_mm)
        state({4: 1.0}, 0.0, priors.source_rows_mm)
    state({5: 1.0, 2: -1.0}, 0.0, priors.u_distance_change_mm)
    for axis in range(3):
        state({6 + axis: 1.0}, 0.0, priors.turn_rad)
    for axis in range(2):
        state({9 + axis: 1.0}, 0.0, 20.0)
    state({11: 1.0}, 0.0, priors.move_mm)
    for canal in range(problem.canals):
        start = problem.canal_at + PER_CANAL * canal
        state({start + 2: 0.5, start + 5: 0.5}, TOOTH_DEPTH_MM, priors.u_depth_mm)
    bend_rows, bend_targets = _bend_priors(problem)
    return np.vstack([np.array(rows), bend_rows]), np.concatenate([targets, bend_targets])


def _bend_priors(problem: Problem) -> tuple[FloatArray, FloatArray]:
    bends = term_bends(BEND_AT)
    sd = BEND_PRIOR[0] + (BEND_PRIOR[1] - BEND_PRIOR[0]) * BEND_AT
    rows = []
    for canal in range(problem.canals):
        axis = problem.directions[canal]
        inner = np.eye(3) - 0.5 * np.outer(axis, axis)
        block = np.einsum("ak,ij->aikj", bends / (sd * problem.lengths[canal])[:, None], inner)
        row = np.zeros((3 * len(BEND_AT), problem.size))
        start = problem.canal_at + PER_CANAL * canal
        row[:, start : start + PER_CANAL] = block.reshape(-1, PER_CANAL)
        rows.append(row)
    stacked = np.vstack(rows)
    return stacked, np.zeros(len(stacked))
