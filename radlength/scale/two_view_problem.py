"""Two images as one least-squares problem: what is unknown, the residuals, and their exact derivatives.

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
from radlength.scale.two_view_geometry import TERMS, project, rotation, term_bends, term_slopes, terms
from radlength.scale.two_view_priors import BEND_PRIOR, TOOTH_DEPTH_MM, Priors

IntArray = NDArray[np.intp]
Pose = tuple[FloatArray, FloatArray]

CAMERA = 12
PER_CANAL = 3 * TERMS
CENTRE: FloatArray = np.array([0.0, 0.0, TOOTH_DEPTH_MM])
BEND_AT: FloatArray = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
FIXED, TIP, FOOT = 0, 1, 2
LEAST_U_LENGTH_MM = 0.005


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


class Residuals:
    """Residuals and derivatives at a point; remembers the foot points between calls.

    Parameters
    ----------
    problem
        The known side.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.t = problem.clicks.t.copy()
        self.prior_matrix, self.prior_target = linear_priors(problem)
        role = problem.clicks.role
        self.foot = np.flatnonzero(role == FOOT)
        self.point = np.flatnonzero(role != FOOT)
        self.tip = np.flatnonzero(role == TIP)
        self._split = int(np.sum(problem.clicks.view == 0))
        self._foot_split = int(np.sum(problem.clicks.view[self.foot] == 0))
        self._columns = problem.canal_at + PER_CANAL * problem.clicks.canal[:, None] + np.arange(PER_CANAL)
        self._last: FloatArray | None = None
        self._value: FloatArray = np.empty(0)
        self._jacobian: FloatArray = np.empty((0, 0))

    def value(self, p: FloatArray) -> FloatArray:
        """Return the weighted residuals."""
        self._evaluate(p)
        return self._value

    def jacobian(self, p: FloatArray) -> FloatArray:
        """Return their derivatives, one row a residual."""
        self._evaluate(p)
        return self._jacobian

    def marks(self) -> int:
        """Return how many of the first residuals belong to marks."""
        problem = self.problem
        return len(self.foot) + 2 * len(self.point) + 4 * int(problem.beside_xy.shape[1])

    def _evaluate(self, p: FloatArray) -> None:
        if self._last is not None and np.array_equal(p, self._last):
            return
        pose = rotation(p[6:9])
        parts = [self._click_rows(p, pose)]
        if self.problem.beside_xy.shape[1]:
            parts.append(self._beside_rows(p, pose))
        parts.extend(tool_row(self.problem, p, index) for index in range(len(self.problem.tools)))
        parts.append((self.prior_matrix @ p - self.prior_target, self.prior_matrix))
        parts.append(angle_rows(self.problem, p, pose))
        self._value = np.concatenate([part[0] for part in parts])
        self._jacobian = np.vstack([part[1] for part in parts])
        self._last = p.copy()

    def _click_rows(self, p: FloatArray, pose: Pose) -> tuple[FloatArray, FloatArray]:
        problem, clicks = self.problem, self.problem.clicks
        curves = problem.curves(p)[clicks.canal]
        if len(self.tip):
            self.t[self.tip] = p[problem.tip_at + clicks.tool[self.tip]]
        self._move_feet(p, curves, pose)
        basis = terms(self.t)
        points = _at(basis, curves)
        image, by_camera, by_point = seen(p, points, self._split, pose)
        miss = image - clicks.xy
        velocity = _at(term_slopes(self.t), curves)
        along = _apply(by_point, velocity)
        rows = np.zeros((len(miss), 2, problem.size))
        rows[:, :, :CAMERA] = by_camera
        block = (by_point[:, :, None, :] * basis[:, None, :, None]).reshape(len(miss), 2, PER_CANAL)
        if problem.canals == 1:
            rows[:, :, problem.canal_at : problem.tip_at] = block
        else:
            np.put_along_axis(rows, self._columns[:, None, :], block, axis=2)
        for index in self.tip:
            rows[index, :, problem.tip_at + clicks.tool[index]] = along[index]
        normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(along[:, 0], along[:, 1])[:, None]
        normal = normal[self.foot] / clicks.sd[self.foot][:, None]
        weight = 1 / clicks.sd[self.point]
        value = [np.sum(normal * miss[self.foot], axis=1), (miss[self.point] * weight[:, None]).ravel()]
        slopes = [
            (normal[:, None, :] @ rows[self.foot])[:, 0],
            (rows[self.point] * weight[:, None, None]).reshape(-1, problem.size),
        ]
        return np.concatenate(value), np.vstack(slopes)

    def _move_feet(self, p: FloatArray, curves: FloatArray, pose: Pose) -> None:
        """Move every foot one step nearer to its click; the solver's own steps do the rest."""
        clicks, foot = self.problem.clicks, self.foot
        t, mine = self.t[foot], curves[foot]
        image, _, by_point = seen(p, _at(terms(t), mine), self._foot_split, pose, camera=False)
        along = _apply(by_point, _at(term_slopes(t), mine))
        step = np.sum((clicks.xy[foot] - image) * along, axis=1) / np.sum(along * along, axis=1)
        self.t[foot] = np.clip(t + np.clip(step, -0.1, 0.1), -0.02, 1.02)

    def _beside_rows(self, p: FloatArray, pose: Pose) -> tuple[FloatArray, FloatArray]:
        problem = self.problem
        count = problem.beside_xy.shape[1]
        points = problem.beside_points(p)
        image, by_camera, by_point = seen(p, np.vstack([points, points]), count, pose)
        rows = np.zeros((2 * count, 2, problem.size))
        rows[:, :, :CAMERA] = by_camera
        if problem.shape is None:
            for index in range(2 * count):
                start = CAMERA + 3 * (index % count)
                rows[index, :, start : start + 3] = by_point[index]
        else:
            slopes = rotation(p[CAMERA : CAMERA + 3])[1]
            turned = (problem.shape @ slopes.transpose(0, 2, 1)).transpose(1, 2, 0)
            rows[:, :, CAMERA : CAMERA + 3] = by_point @ np.concatenate([turned, turned])
            rows[:, :, CAMERA + 3 : CAMERA + 6] = by_point
        miss = image - problem.beside_xy.reshape(-1, 2)
        return miss.ravel() / problem.beside_sd, rows.reshape(-1, problem.size) / problem.beside_sd


def seen(
    p: FloatArray, points: FloatArray, split: int, pose: Pose, *, camera: bool = True
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return images of points in space and their derivatives by the cameras and by the points.

    Parameters
    ----------
    p
        All parameters.
    points
        In the frame of the first detector, shape (N, 3).
    split
        How many of them, from the first, are seen on the straight image; the rest on the shifted one.
    pose
        Turn of the tooth between the images and its derivatives.
    camera
        Whether the derivatives by the cameras are wanted.

    Returns
    -------
    tuple of ndarray
        Shapes (N, 2), (N, 2, 12) and (N, 2, 3).
    """
    turn, slopes = pose
    local = points[split:] - CENTRE
    image1, in_space1, by_source1 = project(points[:split], p[0:3])
    image2, by_point2, by_source2 = project(local @ turn.T + (CENTRE + p[9:12]), p[3:6])
    image = np.concatenate([image1, image2])
    in_space = np.concatenate([in_space1, by_point2 @ turn])
    if not camera:
        return image, np.empty(0), in_space
    by_camera = np.zeros((len(points), 2, CAMERA))
    by_camera[:split, :, 0:3] = by_source1
    by_camera[split:, :, 3:6] = by_source2
    turned = (local @ slopes.transpose(0, 2, 1)).transpose(1, 2, 0)
    by_camera[split:, :, 6:9] = by_point2 @ turned
    by_camera[split:, :, 9:12] = by_point2
    return image, by_camera, in_space


def arc(curve: FloatArray, end: float) -> tuple[float, FloatArray, float]:
    """Return the length of a curve from 0 to `end`, its derivative by the terms (TERMS, 3), and by `end`."""
    slopes = term_slopes(end * NODES)
    velocity = slopes @ curve
    speed = np.sqrt(np.sum(velocity * velocity, axis=1))
    by_curve = end * (slopes * WEIGHTS[:, None]).T @ (velocity / speed[:, None])
    last = term_slopes(np.array([end]))[0] @ curve
    return float(end * (WEIGHTS @ speed)), by_curve, float(np.linalg.norm(last))


def tool_row(problem: Problem, p: FloatArray, index: int) -> tuple[FloatArray, FloatArray]:
    """Return the residual of an instrument's length, and its derivatives."""
    canal, length_mm, u_mm = problem.tools[index]
    length, by_curve, by_end = arc(problem.curves(p)[canal], float(p[problem.tip_at + index]))
    row = np.zeros(problem.size)
    start = problem.canal_at + PER_CANAL * canal
    row[start : start + PER_CANAL] = by_curve.ravel()
    row[problem.tip_at + index] = by_end
    return np.array([(length - length_mm) / u_mm]), row[None] / u_mm


def beams(p: FloatArray, turn: FloatArray | None = None) -> FloatArray:
    """Return the ways from the tooth to both sources, in the frame of the first image, shape (2, 3)."""
    turn = rotation(p[6:9])[0] if turn is None else turn
    return np.array([p[:3] - CENTRE, turn.T @ (p[3:6] - CENTRE - p[9:12])])


def angle_rows(problem: Problem, p: FloatArray, pose: Pose) -> tuple[FloatArray, FloatArray]:
    """Return the residuals of the tube's horizontal and vertical shift, and their derivatives."""
    priors = problem.priors
    turn, slopes = pose
    ways = beams(p, turn)
    away = p[3:6] - CENTRE - p[9:12]
    by_second = np.zeros((3, problem.size))
    by_second[:, 3:6] = turn.T
    by_second[:, 9:12] = -turn.T
    by_second[:, 6:9] = (away @ slopes).T
    values, rows = [], []
    wanted = (problem.angle_rad, 0.0)
    spread = (problem.u_angle_rad, priors.u_vertical_rad)
    for axis in range(2):
        angles = np.arctan2(ways[:, axis], ways[:, 2])
        row = np.zeros(problem.size)
        for index, sign in ((0, -1.0), (1, 1.0)):
            x, z = ways[index, axis], ways[index, 2]
            slope = np.zeros(3)
            slope[axis], slope[2] = z / (x * x + z * z), -x / (x * x + z * z)
            if index:
                row += sign * slope @ by_second
            else:
                row[0:3] += sign * slope
        values.append((angles[1] - angles[0] - wanted[axis]) / spread[axis])
        rows.append(row / spread[axis])
    return np.array(values), np.array(rows)


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


def _at(basis: FloatArray, curves: FloatArray) -> FloatArray:
    return np.asarray((basis[:, None, :] @ curves)[:, 0, :])


def _apply(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    return np.asarray((matrices @ vectors[:, :, None])[:, :, 0])
