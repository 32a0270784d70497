import math

import numpy as np
import pytest
from helpers.two_view_scenes import pair

from radlength.scale.two_view_geometry import (
    meeting_points,
    project,
    rotation,
    term_bends,
    term_slopes,
    terms,
)
from radlength.scale.two_view_priors import DECLARED_PRIORS, MARKER_PRIORS
from radlength.scale.two_view_residuals import Residuals
from radlength.scale.two_view_start import Guess, Plane, Spread, start

SPREAD = Spread(0.05, 0.05, 0.05, 0.05, 0.03)


def numeric(function, at, step=1e-6):
    columns = []
    for index in range(len(at)):
        up, down = at.copy(), at.copy()
        up[index] += step
        down[index] -= step
        columns.append((function(up) - function(down)) / (2 * step))
    return np.stack(columns, axis=-1)


@pytest.mark.parametrize("priors", [MARKER_PRIORS, DECLARED_PRIORS], ids=["marker", "declared"])
@pytest.mark.parametrize("shape_known", [True, False], ids=["shape", "free-points"])
def test_the_derivatives_are_those_of_the_residuals(priors, shape_known):
    _, marks = pair(741000, marker=shape_known)
    planes = (Plane.of(marks.straight), Plane.of(marks.shifted))
    guess = Guess(marks.sign * math.radians(20), 15.0)
    problem, p = start(marks, planes, SPREAD, priors, guess, math.radians(5))
    p = p + np.random.default_rng(1).normal(0, 0.01, len(p))
    held = Residuals(problem)
    for _ in range(20):
        held.value(p)
        held._last = None
    exact = held.jacobian(p)

    def value(at):
        other = Residuals(problem)
        other.t = held.t.copy()
        return other.value(at)

    found = numeric(value, p, 1e-5)
    np.testing.assert_allclose(exact, found, atol=1e-3 * np.abs(exact).max(axis=0, keepdims=True).max())
    np.testing.assert_allclose(exact, found, rtol=1e-3, atol=1e-4)


@pytest.mark.parametrize(
    "v", [(0.0, 0.0, 0.0), (0.3, -0.2, 0.9), (1e-9, 0, 0)], ids=["none", "large", "tiny"]
)
def test_the_rotation_and_its_derivative(v):
    v = np.array(v)
    turn, slopes = rotation(v)
    np.testing.assert_allclose(turn @ turn.T, np.eye(3), atol=1e-9)
    np.testing.assert_allclose(np.moveaxis(slopes, 0, -1), numeric(lambda at: rotation(at)[0], v), atol=1e-7)


def test_projection_derivatives():
    rng = np.random.default_rng(2)
    points, source = rng.normal(0, 5, (1, 3)) + np.array([0, 0, 8]), np.array([[20.0, -10.0, 300.0]])
    _, by_point, by_source = project(points, source)
    np.testing.assert_allclose(
        by_point[0], numeric(lambda x: project(x[None], source)[0][0], points[0]), atol=1e-7
    )
    np.testing.assert_allclose(
        by_source[0], numeric(lambda x: project(points, x[None])[0][0], source[0]), atol=1e-7
    )


def test_the_polynomial_and_its_derivatives():
    t = np.array([0.2, 0.7])
    step = 1e-5
    np.testing.assert_allclose(term_slopes(t), (terms(t + step) - terms(t - step)) / (2 * step), atol=1e-8)
    np.testing.assert_allclose(
        term_bends(t), (term_slopes(t + step) - term_slopes(t - step)) / (2 * step), atol=1e-8
    )


def test_rays_of_a_point_meet_there():
    point = np.array([[2.0, -3.0, 9.0]])
    sources = np.array([[0.0, 0.0, 300.0], [100.0, 5.0, 280.0]])
    images = [np.append(project(point, s[None])[0][0], 0.0)[None] for s in sources]
    np.testing.assert_allclose(meeting_points(images[0], sources[0], images[1], sources[1]), point, atol=1e-9)
