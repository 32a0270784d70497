"""Where the solver starts: rays of a guessed tube meet in space.

A flat canal as a start fails on bends along the beam.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from radlength.geometry import fit_curve
from radlength.geometry.path import FloatArray
from radlength.scale.two_view_geometry import meeting_points, rigid_fit, terms
from radlength.scale.two_view_marks import TwoViewMarks, View
from radlength.scale.two_view_priors import TOOTH_DEPTH_MM, Priors
from radlength.scale.two_view_problem import FIXED, FOOT, TIP, Clicks, Problem

SAMPLES: FloatArray = np.linspace(0.0, 1.0, 13)
_SOLVE = np.linalg.pinv(terms(SAMPLES))


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of marks, millimetres on the detector, a coordinate.

    Parameters
    ----------
    path_mm, stop_mm, apex_mm, tip_mm, beside_mm
        Clicks along a canal, its first and last point, the tip of an instrument, marks beside the tooth.
    """

    path_mm: float
    stop_mm: float
    apex_mm: float
    tip_mm: float
    beside_mm: float


@dataclass(frozen=True, slots=True)
class Guess:
    """A guess to start from: shift with its sign, height of the source over the marks, both in their units."""

    angle_rad: float
    rows_mm: float = 0.0
    depth_sign: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """The marks of one view in millimetres on the detector, (x, y), about their middle."""

    canals: dict[str, FloatArray]
    tools: dict[str, FloatArray]
    beside: FloatArray

    @classmethod
    def of(cls, view: View) -> Plane:
        """Return the marks of a view in millimetres."""
        row, column = view.pitch_mm
        ends = [np.array(path)[[0, -1]] for path in view.canals.values()]
        middle = np.mean(ends, axis=(0, 1))

        def flat(path: tuple[tuple[float, float], ...]) -> FloatArray:
            return np.asarray(((np.array(path).reshape(-1, 2) - middle) * (row, column))[:, ::-1])

        return cls(
            {name: flat(path) for name, path in view.canals.items()},
            {name: flat(path) for name, path in view.instruments.items()},
            flat(view.marker_px),
        )


def start(
    marks: TwoViewMarks,
    planes: tuple[Plane, Plane],
    spread: Spread,
    priors: Priors,
    guess: Guess,
    u_angle: float,
) -> tuple[Problem, FloatArray]:
    """Return the problem and the parameters to start from.

    Parameters
    ----------
    marks, planes
        The marks, and the same in millimetres.
    spread
        How well they are placed.
    priors
        What counts as likely.
    guess
        Where the tube may have stood.
    u_angle
        Standard uncertainty of the shift, radians.
    """
    source1 = np.array([0.0, guess.rows_mm, priors.distance_mm])
    source2 = source1 + priors.distance_mm * np.array(
        [math.sin(guess.angle_rad), 0.0, math.cos(guess.angle_rad) - 1]
    )
    middle = source1 * TOOTH_DEPTH_MM / source1[2]
    move = np.append(source2[:2] * TOOTH_DEPTH_MM / source2[2] - middle[:2], 0.0)

    def meet(first: FloatArray, second: FloatArray) -> FloatArray:
        here, there = _lift(first), _lift(second) - move
        return meeting_points(here, source1, there, source2 - move)

    curves = []
    for name, path in planes[0].canals.items():
        points = meet(*matched(path, planes[1].canals[name]))
        points[:, 2] = TOOTH_DEPTH_MM + guess.depth_sign * (points[:, 2] - TOOTH_DEPTH_MM)
        curves.append(_SOLVE @ points)
    beside, shape = _beside(marks, meet(planes[0].beside, planes[1].beside))
    names = list(planes[0].canals)
    chords = np.array([curve[1] - curve[0] for curve in curves])
    lengths = np.linalg.norm(chords, axis=1)
    clicks, tips = gather(marks, planes, spread)
    problem = Problem(
        clicks=clicks,
        canals=len(names),
        tools=tuple(
            (names.index(tool.canal), tool.length_mm, max(tool.limit_mm / math.sqrt(3), 0.005))
            for tool in marks.instruments
        ),
        beside_xy=np.array([planes[0].beside, planes[1].beside]),
        shape=shape,
        beside_sd=spread.beside_mm,
        priors=priors,
        angle_rad=guess.angle_rad,
        u_angle_rad=u_angle,
        directions=chords / lengths[:, None],
        lengths=lengths,
    )
    p = np.concatenate([source1, source2, np.zeros(3), move, beside, *[c.ravel() for c in curves], tips])
    return problem, p


def matched(first: FloatArray, second: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return points of two paths that may be the same points in space, shape (13, 2) each.

    A horizontal shift keeps rows nearly as they are, so equal shares of the height are matched; a path that
    does not run along the rows is matched by equal shares of its length.
    """
    out = []
    for path in (first, second):
        curve = fit_curve(path)
        t = np.linspace(0.0, 1.0, 65)
        points = curve.points(t)
        height = points[:, 1] - points[0, 1]
        rising = np.diff(height) * np.sign(height[-1])
        if abs(height[-1]) > 0.5 * np.linalg.norm(curve.chord) and np.all(rising > 0):
            share = height / height[-1]
        else:
            steps = np.hypot(*np.diff(points, axis=0).T)
            share = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
        out.append(curve.points(np.interp(SAMPLES, share, t)))
    return out[0], out[1]


def gather(marks: TwoViewMarks, planes: tuple[Plane, Plane], spread: Spread) -> tuple[Clicks, FloatArray]:
    """Return all clicks in one list, and a first guess of the tips' places along their canals."""
    names = list(planes[0].canals)
    known = [tool.canal for tool in marks.instruments]
    rows: list[tuple[FloatArray, int, int, int, float, float, int]] = []
    tips = np.ones(len(known))
    for view, plane in enumerate(planes):
        for name, path in plane.canals.items():
            canal = names.index(name)
            share = _shares(path)
            rows.append((path[0], canal, view, FIXED, 0.0, spread.stop_mm, 0))
            rows.append((path[-1], canal, view, FIXED, 1.0, spread.apex_mm, 0))
            rows.extend(
                (xy, canal, view, FOOT, t, spread.path_mm, 0)
                for xy, t in zip(path[1:-1], share[1:-1], strict=True)
            )
        for tool, name in enumerate(known):
            path, canal = plane.tools[name], names.index(name)
            whole = plane.canals[name]
            ratio = float(
                np.hypot(*np.diff(path, axis=0).T).sum() / np.hypot(*np.diff(whole, axis=0).T).sum()
            )
            tips[tool] = np.clip(ratio, 0.2, 1.2)
            if np.hypot(*(path[0] - whole[0])) > 1e-6:
                rows.append((path[0], canal, view, FIXED, 0.0, spread.stop_mm, 0))
            rows.append((path[-1], canal, view, TIP, tips[tool], spread.tip_mm, tool))
            rows.extend(
                (xy, canal, view, FOOT, t * tips[tool], spread.path_mm, 0)
                for xy, t in zip(path[1:-1], _shares(path)[1:-1], strict=True)
            )
    xy, canals, views, roles, t, sd, tools = zip(*rows, strict=True)
    whole_numbers = [np.array(column, dtype=np.intp) for column in (canals, views, roles, tools)]
    return (
        Clicks(
            np.array(xy),
            whole_numbers[0],
            whole_numbers[1],
            whole_numbers[2],
            np.array(t),
            np.array(sd),
            whole_numbers[3],
        ),
        tips,
    )


def _beside(marks: TwoViewMarks, points: FloatArray) -> tuple[FloatArray, FloatArray | None]:
    if not marks.marker_mm:
        return points.ravel(), None
    shape = np.array(marks.marker_mm)
    turn, move = rigid_fit(shape, points)
    return np.concatenate([np.zeros(3), move]), shape @ turn.T


def _lift(points: FloatArray) -> FloatArray:
    return np.column_stack([points, np.zeros(len(points))])


def _shares(path: FloatArray) -> FloatArray:
    steps = np.hypot(*np.diff(path, axis=0).T)
    return np.asarray(np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum())
