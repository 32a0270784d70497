"""Solving two views: several starts, the best minimum, its covariance, and what the others say."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from radlength.geometry.path import FloatArray
from radlength.scale.two_view_descent import least_squares
from radlength.scale.two_view_marks import TwoViewMarks
from radlength.scale.two_view_priors import DECLARED_WITHOUT_ANGLE_DEG, Priors
from radlength.scale.two_view_problem import CAMERA, IntArray, Problem, arcs, beams
from radlength.scale.two_view_residuals import Residuals
from radlength.scale.two_view_start import Guess, Plane, Spread, start

MOST_EVALUATIONS = 50
OTHER_EVALUATIONS = 12
MIRRORED_EVALUATIONS = 20
SAME_COST, NEAR_COST = 0.05, 30.0
"""A start from the mirrored tooth that has come this near to the best is followed further; farther off it is another,
worse tooth, and nearer it is the same one."""
LOOSE_MM = 10.0
"""Standard uncertainty of a stated length that is left out."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """One minimum.

    Parameters
    ----------
    problem
        What was solved.
    p
        Parameters there, shape (P,).
    residuals, jacobian
        Weighted, shape (R,) and (R, P).
    marks
        How many of the first residuals belong to marks; the rest is what counts as likely.
    foot, point
        Which clicks the first residuals belong to: across the canal, then both coordinates of ends and tips.
    """

    problem: Problem
    p: FloatArray
    residuals: FloatArray
    jacobian: FloatArray
    marks: int
    foot: IntArray
    point: IntArray

    @property
    def cost(self) -> float:
        """Sum of squares of the weighted residuals."""
        return float(self.residuals @ self.residuals)

    @property
    def lengths_mm(self) -> FloatArray:
        """Length of every canal, millimetres."""
        return arcs(self.problem.curves(self.p), np.ones(self.problem.canals))[0]

    @property
    def angle_deg(self) -> float:
        """Horizontal shift of the tube as seen from the tooth, positive toward larger columns."""
        ways = beams(self.p)
        angles = np.degrees(np.arctan2(ways[:, 0], ways[:, 2]))
        return float(angles[1] - angles[0])

    def covariance(self) -> FloatArray:
        """Return the covariance of the parameters, shape (P, P)."""
        scale = 1 / np.linalg.norm(self.jacobian, axis=0)
        scaled = self.jacobian * scale
        return np.asarray(np.linalg.inv(scaled.T @ scaled) * np.outer(scale, scale))


def solve(
    marks: TwoViewMarks, planes: tuple[Plane, Plane], spread: Spread, priors: Priors
) -> tuple[Solution, Solution]:
    """Return the best minimum and the one found from another start, which may be the same.

    Parameters
    ----------
    marks, planes, spread, priors
        See :func:`radlength.scale.two_view_start.start`.
    """
    angle, u_angle = shift_rad(marks, priors)
    first = solve_from(marks, planes, spread, priors, Guess(angle), u_angle)
    if priors.declared:
        second = descend(first.problem, _mirrored(first), MIRRORED_EVALUATIONS)
        if SAME_COST < second.cost - first.cost < NEAR_COST:
            second = descend(second.problem, second.p, MOST_EVALUATIONS)
    else:
        second = solve_from(marks, planes, spread, priors, Guess(angle, 60.0), u_angle, OTHER_EVALUATIONS)
    if second.cost < first.cost - 1:
        second = descend(second.problem, second.p, MOST_EVALUATIONS)
    best, other = (first, second) if first.cost <= second.cost else (second, first)
    return best, other


def shift_rad(marks: TwoViewMarks, priors: Priors) -> tuple[float, float]:
    """Return the shift with its sign and its standard uncertainty, radians."""
    middle, spread = DECLARED_WITHOUT_ANGLE_DEG
    angle = middle if marks.angle_deg is None else marks.angle_deg
    u_angle = spread if marks.angle_deg is None else marks.u_angle_deg
    if not priors.declared:
        u_angle = 15.0
    return marks.sign * math.radians(angle), math.radians(u_angle)


def solve_from(
    marks: TwoViewMarks,
    planes: tuple[Plane, Plane],
    spread: Spread,
    priors: Priors,
    guess: Guess,
    u_angle: float,
    most: int = MOST_EVALUATIONS,
) -> Solution:
    """Return the minimum reached from one guess."""
    problem, p = start(marks, planes, spread, priors, guess, u_angle)
    return descend(replace(problem, angle_rad=shift_rad(marks, priors)[0]), p, most)


def descend(problem: Problem, p: FloatArray, most: int) -> Solution:
    """Return the minimum reached from parameters with at most so many evaluations."""
    residuals = Residuals(problem)
    found, value, jacobian = least_squares(
        residuals.value, residuals.jacobian, p, scale=_scale(problem), most=most
    )
    return Solution(problem, found, value, jacobian, residuals.marks(), residuals.foot, residuals.point)


def length_without(solution: Solution, index: int) -> tuple[float, float]:
    """Return the length of an instrument as everything but its stated length tells it, and its uncertainty.

    Parameters
    ----------
    solution
        The best minimum.
    index
        Which instrument.

    Returns
    -------
    tuple of float
        Millimetres, the standard uncertainty without the stated length's own.
    """
    problem = solution.problem
    canal, stated_mm, _ = problem.tools[index]
    tools = list(problem.tools)
    tools[index] = (canal, stated_mm, LOOSE_MM)
    free = descend(replace(problem, tools=tuple(tools)), solution.p, OTHER_EVALUATIONS)
    row = free.jacobian[free.marks + index] * LOOSE_MM
    seen = stated_mm + float(free.residuals[free.marks + index]) * LOOSE_MM
    return seen, math.sqrt(float(row @ free.covariance() @ row))


def _mirrored(solution: Solution) -> FloatArray:
    """Return the parameters with every canal turned over: slant and bend along the beam to the other side."""
    p = solution.p.copy()
    curves = solution.problem.curves(p)
    curves[:, :2, 2] = curves[:, 1::-1, 2]
    curves[:, 2:, 2] *= -1
    return p


def _scale(problem: Problem) -> FloatArray:
    """Return the size of a usual step of every parameter."""
    scale = np.ones(problem.size)
    scale[:6], scale[6:9], scale[9:12] = 50.0, 0.1, 2.0
    if problem.shape is not None:
        scale[CAMERA : CAMERA + 3] = 0.05
    scale[problem.tip_at :] = 0.02
    return scale
