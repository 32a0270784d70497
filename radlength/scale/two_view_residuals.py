"""The residuals of two images and their exact derivatives, which are made only where the solver asks for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.geometry.path import FloatArray
from radlength.scale.two_view_geometry import project, rotation, terms_and_slopes
from radlength.scale.two_view_problem import (
    CAMERA,
    CENTRE,
    FOOT,
    PER_CANAL,
    TIP,
    Problem,
    arcs,
    beams,
    linear_priors,
)

Pose = tuple[FloatArray, FloatArray]
"""A turn and its derivatives by its three components."""


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """Points in space as both images show them.

    Parameters
    ----------
    image
        Millimetres on the detectors, those on the straight image first, shape (N, 2).
    by_point
        How they change with the points, shape (N, 2, 3).
    local
        Points on the shifted image from the middle of the tooth, shape (M, 3).
    by_source
        How they change with their own source, shape (N, 2, 3).
    by_turned
        How those on the shifted image change with the moved point, shape (M, 2, 3).
    """

    image: FloatArray
    by_point: FloatArray
    local: FloatArray
    by_source: FloatArray
    by_turned: FloatArray

    def by_camera(self, slopes: FloatArray) -> FloatArray:
        """Return how they change with sources, turn and move, shape (N, 2, 12), from the derivatives of the turn."""
        out = np.zeros((len(self.image), 2, CAMERA))
        split = len(self.image) - len(self.local)
        out[:split, :, 0:3], out[split:, :, 3:6] = self.by_source[:split], self.by_source[split:]
        turned = (self.local @ slopes.transpose(0, 2, 1)).transpose(1, 2, 0)
        out[split:, :, 6:9] = self.by_turned @ turned
        out[split:, :, 9:12] = self.by_turned
        return out


def shown(p: FloatArray, points: FloatArray, split: int, turn: FloatArray) -> Shown:
    """Return points in space as both images show them.

    Parameters
    ----------
    p
        All parameters.
    points
        In the frame of the first detector, shape (N, 3).
    split
        How many of them, from the first, are seen on the straight image; the rest on the shifted one.
    turn
        Of the tooth between the images, shape (3, 3).
    """
    local = points[split:] - CENTRE
    placed, source = np.empty_like(points), np.empty_like(points)
    placed[:split], placed[split:] = points[:split], local @ turn.T + (CENTRE + p[9:12])
    source[:split], source[split:] = p[0:3], p[3:6]
    image, by_placed, by_source = project(placed, source)
    by_turned = by_placed[split:].copy()
    by_placed[split:] = by_turned @ turn
    return Shown(image, by_placed, local, by_source, by_turned)


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """What an evaluation leaves for its derivatives."""

    pose: Pose
    marker: Pose | None
    clicks: Shown
    basis: FloatArray
    along: FloatArray
    normal: FloatArray
    beside: Shown | None
    reach: tuple[FloatArray, FloatArray, FloatArray]


class Residuals:
    """Residuals and derivatives at a point; remembers the foot points between calls.

    Parameters
    ----------
    problem
        The known side.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        clicks = problem.clicks
        self.t = clicks.t.copy()
        self.prior_matrix, self.prior_target = linear_priors(problem)
        self.foot = np.flatnonzero(clicks.role == FOOT)
        self.point = np.flatnonzero(clicks.role != FOOT)
        self.tip = np.flatnonzero(clicks.role == TIP)
        self._tip_place = problem.tip_at + clicks.tool[self.tip]
        self._tip_row = np.searchsorted(self.point, self.tip)
        self._split = int(np.sum(clicks.view == 0))
        self._foot_split = int(np.sum(clicks.view[self.foot] == 0))
        self._columns = problem.canal_at + PER_CANAL * clicks.canal[:, None] + np.arange(PER_CANAL)
        self._weight = 1 / clicks.sd[self.point]
        tools = np.array(problem.tools).reshape(-1, 3)
        self._tool_canal, self._stated, self._u_stated = tools[:, 0].astype(np.intp), tools[:, 1], tools[:, 2]
        self._tools_at = self.marks()
        self._priors_at = self._tools_at + len(problem.tools)
        self._angles_at = self._priors_at + len(self.prior_target)
        self._last: FloatArray | None = None
        self._state: _State | None = None
        self._value: FloatArray = np.empty(0)
        self._jacobian: FloatArray | None = None

    def value(self, p: FloatArray) -> FloatArray:
        """Return the weighted residuals."""
        self._evaluate(p)
        return self._value

    def jacobian(self, p: FloatArray) -> FloatArray:
        """Return their derivatives, one row a residual."""
        state = self._evaluate(p)
        if self._jacobian is None:
            self._jacobian = self._slopes(p, state)
        return self._jacobian

    def marks(self) -> int:
        """Return how many of the first residuals belong to marks."""
        return len(self.foot) + 2 * len(self.point) + 4 * int(self.problem.beside_xy.shape[1])

    def _evaluate(self, p: FloatArray) -> _State:
        if self._state is not None and self._last is not None and np.array_equal(p, self._last):
            return self._state
        problem, pose = self.problem, rotation(p[6:9])
        curves = problem.curves(p)
        marker = rotation(p[CAMERA : CAMERA + 3]) if problem.shape is not None else None
        clicks, basis, along, normal = self._see_clicks(p, curves[problem.clicks.canal], pose[0])
        beside = self._see_beside(p, marker, pose[0])
        reach = arcs(curves[self._tool_canal], p[problem.tip_at :])
        self._state = _State(pose, marker, clicks, basis, along, normal, beside, reach)
        miss = clicks.image - problem.clicks.xy
        parts = [
            np.einsum("ni,ni->n", normal, miss[self.foot]),
            (miss[self.point] * self._weight[:, None]).ravel(),
        ]
        if beside is not None:
            parts.append((beside.image - problem.beside_xy.reshape(-1, 2)).ravel() / problem.beside_sd)
        parts.append((reach[0] - self._stated) / self._u_stated)
        parts.append(self.prior_matrix @ p - self.prior_target)
        parts.append(_angles(problem, beams(p, pose[0])))
        self._value = np.concatenate(parts)
        self._jacobian, self._last = None, p.copy()
        return self._state

    def _see_clicks(
        self, p: FloatArray, curves: FloatArray, turn: FloatArray
    ) -> tuple[Shown, FloatArray, FloatArray, FloatArray]:
        """Return the clicks' points, the terms there, the curves' directions on the images, and across the feet."""
        self.t[self.tip] = p[self._tip_place]
        self._move_feet(p, curves, turn)
        basis = terms_and_slopes(self.t)
        points = basis @ curves
        seen = shown(p, points[:, 0], self._split, turn)
        along = _apply(seen.by_point, points[:, 1])
        mine = along[self.foot]
        normal = np.column_stack([-mine[:, 1], mine[:, 0]]) / np.hypot(mine[:, 0], mine[:, 1])[:, None]
        return seen, basis[:, 0], along, normal / self.problem.clicks.sd[self.foot][:, None]

    def _move_feet(self, p: FloatArray, curves: FloatArray, turn: FloatArray) -> None:
        """Move every foot one step nearer to its click; the solver's own steps do the rest."""
        clicks, foot = self.problem.clicks, self.foot
        t, mine = self.t[foot], curves[foot]
        points = terms_and_slopes(t) @ mine
        seen = shown(p, points[:, 0], self._foot_split, turn)
        along = _apply(seen.by_point, points[:, 1])
        miss = clicks.xy[foot] - seen.image
        step = np.einsum("ni,ni->n", miss, along) / np.einsum("ni,ni->n", along, along)
        self.t[foot] = np.clip(t + np.clip(step, -0.1, 0.1), -0.02, 1.02)

    def _see_beside(self, p: FloatArray, marker: Pose | None, turn: FloatArray) -> Shown | None:
        problem, count = self.problem, int(self.problem.beside_xy.shape[1])
        if not count:
            return None
        if marker is None or problem.shape is None:
            points = p[CAMERA : problem.canal_at].reshape(-1, 3)
        else:
            points = problem.shape @ marker[0].T + p[CAMERA + 3 : CAMERA + 6]
        return shown(p, np.vstack([points, points]), count, turn)

    def _slopes(self, p: FloatArray, state: _State) -> FloatArray:
        problem = self.problem
        out = np.zeros((len(self._value), problem.size))
        self._put_clicks(out, state)
        if state.beside is not None:
            self._put_beside(out, state, state.beside)
        _, by_curve, by_tip = state.reach
        for index, (canal, _, u_mm) in enumerate(problem.tools):
            row, start = out[self._tools_at + index], problem.canal_at + PER_CANAL * canal
            row[start : start + PER_CANAL] = by_curve[index].ravel() / u_mm
            row[problem.tip_at + index] = by_tip[index] / u_mm
        out[self._priors_at : self._angles_at] = self.prior_matrix
        _put_angles(out[self._angles_at :], problem, p, state.pose)
        return out

    def _put_clicks(self, out: FloatArray, state: _State) -> None:
        foot, point, seen = self.foot, self.point, state.clicks
        by_camera = seen.by_camera(state.pose[1])
        across = state.normal[:, None, :]
        out[: len(foot), :CAMERA] = (across @ by_camera[foot])[:, 0]
        by_curve = state.basis[foot][:, :, None] * (across @ seen.by_point[foot])
        out[np.arange(len(foot))[:, None], self._columns[foot]] = by_curve.reshape(-1, PER_CANAL)
        weight = self._weight[:, None, None]
        rows = out[len(foot) : len(foot) + 2 * len(point)].reshape(len(point), 2, -1)
        rows[:, :, :CAMERA] = by_camera[point] * weight
        by_curves = (seen.by_point[point] * weight)[:, :, None, :] * state.basis[point][:, None, :, None]
        both, places = np.arange(2)[None, :, None], self._columns[point][:, None, :]
        rows[np.arange(len(point))[:, None, None], both, places] = by_curves.reshape(-1, 2, PER_CANAL)
        rows[self._tip_row, :, self._tip_place] = state.along[self.tip] * self._weight[self._tip_row][:, None]

    def _put_beside(self, out: FloatArray, state: _State, seen: Shown) -> None:
        problem, sd, count = self.problem, self.problem.beside_sd, len(seen.image) // 2
        rows = out[self._tools_at - 4 * count : self._tools_at].reshape(2 * count, 2, -1)
        rows[:, :, :CAMERA] = seen.by_camera(state.pose[1]) / sd
        if state.marker is None or problem.shape is None:
            for index in range(2 * count):
                start = CAMERA + 3 * (index % count)
                rows[index, :, start : start + 3] = seen.by_point[index] / sd
            return
        turned = (problem.shape @ state.marker[1].transpose(0, 2, 1)).transpose(1, 2, 0)
        rows[:, :, CAMERA : CAMERA + 3] = seen.by_point @ np.concatenate([turned, turned]) / sd
        rows[:, :, CAMERA + 3 : CAMERA + 6] = seen.by_point / sd


def _angles(problem: Problem, ways: FloatArray) -> FloatArray:
    """Return the residuals of the tube's horizontal and vertical shift."""
    angles = np.arctan2(ways[:, :2], ways[:, 2:])
    wanted = (problem.angle_rad, 0.0)
    return np.asarray((angles[1] - angles[0] - wanted) / (problem.u_angle_rad, problem.priors.u_vertical_rad))


def _put_angles(rows: FloatArray, problem: Problem, p: FloatArray, pose: Pose) -> None:
    """Put the derivatives of the tube's shift, horizontal and vertical, into two rows."""
    turn, slopes = pose
    ways = beams(p, turn)
    across, ahead = ways[:, :2].T, ways[:, 2]
    squares = across**2 + ahead**2
    slope = np.zeros((2, 2, 3))
    slope[(0, 1), :, (0, 1)], slope[:, :, 2] = ahead / squares, -across / squares
    slope /= np.array([problem.u_angle_rad, problem.priors.u_vertical_rad])[:, None, None]
    first, second = slope[:, 0], slope[:, 1]
    away = p[3:6] - CENTRE - p[9:12]
    rows[:, 0:3] = -first
    rows[:, 3:6] = second @ turn.T
    rows[:, 6:9] = second @ (away @ slopes).T
    rows[:, 9:12] = -rows[:, 3:6]


def _apply(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    return np.asarray((matrices @ vectors[:, :, None])[:, :, 0])
