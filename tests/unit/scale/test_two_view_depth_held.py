"""How sure a depth is that two views find: first order with numerical derivatives as oracle (JCGM 100:2008, 5.2.2)."""

from types import SimpleNamespace

import numpy as np
import pytest

from radlength.scale import two_view_result
from radlength.scale.two_view_geometry import TERMS
from radlength.scale.two_view_result import _depth, depth_between
from radlength.scale.two_view_side import side_by_rule

BEAM = np.array([0.2, -0.1, np.sqrt(0.95)])
SHAPE = np.array([[0.0, 0.0, 0.0], [2.0, 0.0, 1.0], [0.0, 3.0, 2.0]])


def solution(rng, *, canals, shaped):
    """Return numbers that stand for a solution, and points beside the tooth: loose ones, or a marker that was moved."""
    at = 18 if shaped else 12 + 3 * len(SHAPE)

    def beside(p):
        return SHAPE + p[15:18] if shaped else p[12:at].reshape(-1, 3)

    problem = SimpleNamespace(
        size=at + canals * 3 * TERMS,
        canals=canals,
        canal_at=at,
        shape=SHAPE if shaped else None,
        beside_xy=np.zeros((2, len(SHAPE), 2)),
        curves=lambda p: p[at:].reshape(canals, TERMS, 3),
        beside_points=beside,
    )
    return SimpleNamespace(problem=problem, p=rng.normal(0, 3, problem.size))


def first_order(find, solved, covariance):
    """Return the value and its uncertainty by central differences of the value itself."""
    steps = 1e-5 * np.eye(len(solved.p))
    there = [
        find(SimpleNamespace(problem=solved.problem, p=solved.p + sign * step))
        for step in steps
        for sign in (1, -1)
    ]
    gradient = -np.diff(np.reshape(there, (-1, 2)), axis=1)[:, 0] / 2e-5
    return find(solved), np.sqrt(gradient @ covariance @ gradient)


@pytest.fixture(autouse=True)
def _one_beam(monkeypatch):
    monkeypatch.setattr(two_view_result, "_beam", lambda solution: BEAM)


@pytest.mark.parametrize("shaped", [False, True], ids=["loose points", "marker"])
def test_a_single_canal_against_what_lies_beside_it(shaped):
    rng = np.random.default_rng(5)
    solved = solution(rng, canals=1, shaped=shaped)
    root = rng.normal(0, 0.3, (solved.problem.size, solved.problem.size))
    covariance = root @ root.T
    wanted = first_order(lambda s: _depth(s, covariance, 0)[0], solved, covariance)
    assert _depth(solved, covariance, 0) == pytest.approx(wanted, rel=1e-6)


def test_one_canal_against_the_mean_of_the_others():
    rng = np.random.default_rng(6)
    solved = solution(rng, canals=3, shaped=False)
    root = rng.normal(0, 0.3, (solved.problem.size, solved.problem.size))
    covariance = root @ root.T
    wanted = first_order(lambda s: depth_between(s, covariance, 1, [0, 2])[0], solved, covariance)
    assert depth_between(solved, covariance, 1, [0, 2]) == pytest.approx(wanted, rel=1e-6)
    each = [depth_between(solved, covariance, 1, [other])[0] for other in (0, 2)]
    assert wanted[0] == pytest.approx(np.mean(each))
    assert each[0] == pytest.approx(-depth_between(solved, covariance, 0, [1])[0])


def test_a_canal_that_lies_nearer_to_the_tube_has_the_positive_depth():
    """A whole canal moved by 2 mm along the beam, the points beside it left where they were, is 2 mm nearer."""
    solved = solution(np.random.default_rng(7), canals=1, shaped=False)
    none = np.zeros((solved.problem.size, solved.problem.size))
    before, _ = _depth(solved, none, 0)
    curves = solved.problem.curves(solved.p)
    curves[0, :2] += 2 * BEAM  # both ends: the other terms are bends between them
    assert _depth(solved, none, 0)[0] - before == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("moved", "tube", "u", "side"),
    [
        *[(1.0, 1.0, 0.4, "lingual"), (-1.0, -1.0, 0.4, "lingual")],
        *[(1.0, -1.0, 0.4, "buccal"), (-1.0, 1.0, 0.4, "buccal")],
        *[(0.8, 1.0, 0.4, "undecided"), (-0.8, 1.0, 0.4, "undecided"), (0.0, 1.0, 0.0, "undecided")],
    ],
)
def test_same_lingual_opposite_buccal_and_nothing_within_two_standard_uncertainties(moved, tube, u, side):
    """Clark 1910; Richards 1953: what moves as the tube does lies lingual."""
    assert side_by_rule(moved, tube, u=u) == side
