"""Least squares against published minima and against MINPACK, whose steps it takes."""

import math

import numpy as np
import pytest
from helpers.two_view_scenes import pair
from scipy.optimize import least_squares as minpack

from radlength.scale.two_view_descent import least_squares
from radlength.scale.two_view_priors import DECLARED_PRIORS, MARKER_PRIORS
from radlength.scale.two_view_problem import arcs
from radlength.scale.two_view_residuals import Residuals
from radlength.scale.two_view_solve import _scale, shift_rad
from radlength.scale.two_view_start import Guess, Plane, Spread, start

SPREAD = Spread(0.05, 0.05, 0.05, 0.05, 0.03)


def numeric(value):
    def slopes(p):
        return np.column_stack([
            (value(p + step) - value(p - step)) / 2e-6 for step in np.eye(len(p)) * 1e-6
        ])  # fmt: skip

    return slopes


def rosenbrock(p):
    return np.array([10 * (p[1] - p[0] ** 2), 1 - p[0]])


def powell(p):
    return np.array(
        [
            p[0] + 10 * p[1],
            math.sqrt(5) * (p[2] - p[3]),
            (p[1] - 2 * p[2]) ** 2,
            math.sqrt(10) * (p[0] - p[3]) ** 2,
        ]
    )


def brown_dennis(p):
    t = np.arange(1, 21) / 5
    return (p[0] + t * p[1] - np.exp(t)) ** 2 + (p[2] + p[3] * np.sin(t) - np.cos(t)) ** 2


def kowalik_osborne(p):
    y = [0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246]
    u = np.array([4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625])
    return y - p[0] * (u * u + u * p[1]) / (u * u + u * p[2] + p[3])


def freudenstein_roth(p):
    x, y = p
    return np.array([-13 + x + ((5 - y) * y - 2) * y, -29 + x + ((y + 1) * y - 14) * y])


@pytest.mark.parametrize(
    ("value", "start", "minimum"),
    [
        (rosenbrock, (-1.2, 1), 0.0),
        (freudenstein_roth, (0.5, -2), 48.9842),
        (powell, (3, -1, 0, 1), 0.0),
        (kowalik_osborne, (0.25, 0.39, 0.415, 0.39), 3.07505e-4),
        (brown_dennis, (25, 5, -5, -1), 85822.2),
    ],
)
def test_published_minima(value, start, minimum):
    """Moré, Garbow and Hillstrom 1981, ACM Transactions on Mathematical Software 7, 17: starts and sums of squares."""
    p = np.array(start, dtype=float)
    ones = np.ones(len(p))
    found, left, slopes = least_squares(
        value, numeric(value), p, scale=ones, most=400, ftol=1e-12, xtol=1e-10
    )
    assert left @ left == pytest.approx(minimum, rel=1e-5, abs=1e-12)
    np.testing.assert_array_equal(left, value(found))
    np.testing.assert_array_equal(slopes, numeric(value)(found))


@pytest.mark.parametrize("marker", [True, False], ids=["marker", "declared"])
@pytest.mark.parametrize("seed", range(741100, 741106))
def test_two_views_take_the_way_of_minpack(marker, seed):
    kind = {} if seed % 2 else {"kind": "upper_molar", "instruments": 2}
    _, marks = pair(seed, marker=marker, declared=20.0, **kind)
    angle, u_angle = shift_rad(marks, MARKER_PRIORS if marker else DECLARED_PRIORS)
    planes = (Plane.of(marks.straight), Plane.of(marks.shifted))
    priors = MARKER_PRIORS if marker else DECLARED_PRIORS
    problem, p = start(marks, planes, SPREAD, priors, Guess(angle), u_angle)
    mine, theirs = Residuals(problem), Residuals(problem)
    found, left, _ = least_squares(mine.value, mine.jacobian, p, scale=_scale(problem), most=50)
    peer = minpack(
        theirs.value, p, jac=theirs.jacobian, method="lm", x_scale=_scale(problem), ftol=1e-4, xtol=1e-6,
        gtol=1e-12, max_nfev=50,
    )  # fmt: skip
    assert left @ left == pytest.approx(2 * peer.cost, rel=1e-6)
    ends = np.ones(problem.canals)
    np.testing.assert_allclose(
        arcs(problem.curves(found), ends)[0], arcs(problem.curves(peer.x), ends)[0], atol=1e-5
    )


def test_unknowns_that_nothing_tells_stay_put():
    """Two of three unknowns enter only by their sum: no Cholesky factor without damping."""
    rows = np.array([[1.0, 1.0, 0.0], [0.0, 0.0, 1.0], [2.0, 2.0, 0.0]])
    target = np.array([3.0, 4.0, 6.0])
    found, left, _ = least_squares(
        lambda p: rows @ p - target, lambda p: rows, np.zeros(3), scale=np.ones(3), most=60
    )
    assert np.abs(left).max() < 1e-3
    assert np.isfinite(found).all()


def test_a_start_at_the_minimum_ends_there():
    rows = np.array([[1.0, 1.0], [1.0, -1.0], [0.0, 0.0]])
    found, left, _ = least_squares(
        lambda p: rows @ p + (0, 0, 3), lambda p: rows, np.zeros(2), scale=np.ones(2), most=9
    )
    np.testing.assert_array_equal(found, (0, 0))
    assert left @ left == 9


def test_residuals_that_are_no_numbers_end_it():
    def value(p):
        return np.array([np.log(p[0]) if p[0] > 0 else np.nan, p[1]])

    looks = []

    def slopes(p):
        looks.append(p)
        return np.array([[1 / p[0], 0.0], [0.0, 1.0]])

    found, left, _ = least_squares(value, slopes, np.array([9.0, 1.0]), scale=np.ones(2), most=40)
    assert len(looks) <= 40
    assert np.isfinite(left).all()
    assert found[0] == pytest.approx(1.0, abs=0.05)


def test_it_looks_no_more_often_than_asked():
    count = 0

    def value(p):
        nonlocal count
        count += 1
        return rosenbrock(p)

    least_squares(value, numeric(rosenbrock), np.array([-1.2, 1.0]), scale=np.ones(2), most=5)
    assert count == 5
