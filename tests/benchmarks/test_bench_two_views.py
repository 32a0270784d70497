"""Two views: one solve, and the same problem given to SciPy without derivatives as a peer."""

from time import thread_time

import numpy as np
import pytest
from helpers.two_view_scenes import CAREFUL, marking, pair
from scipy.optimize import least_squares

from radlength.scale.two_view_priors import DECLARED_PRIORS, MARKER_PRIORS
from radlength.scale.two_view_residuals import Residuals
from radlength.scale.two_view_solve import _scale, descend, shift_rad
from radlength.scale.two_view_start import Guess, Plane, Spread, start
from radlength.scale.two_views import solve_two_views

SCENES = 20
METHODS = pytest.mark.parametrize("marker", [True, False], ids=["marker", "declared"])
MOLAR = {"kind": "upper_molar", "instruments": 2}


def cases(marker, **more):
    return [pair(770000 + k, marker=marker, declared=20.0, **more)[1] for k in range(SCENES)]


@METHODS
@pytest.mark.parametrize("more", [{}, MOLAR], ids=["any", "molar"])
def test_two_view_solve(benchmark, marker, more):
    """Target: median and 95th percentile under 60 ms a pair, processor time: other work on the machine counts not."""
    marks = cases(marker, **more)
    seconds = []

    def all_of_them():
        for one in marks:
            began = thread_time()
            solve_two_views(one, marking=marking(CAREFUL), reference_mm=0.03)
            seconds.append(thread_time() - began)

    benchmark.group = f"two views, {SCENES} pairs (target: median and p95 60 ms a pair)"
    benchmark(all_of_them)
    median, p95 = 1e3 * np.quantile(seconds, [0.5, 0.95])
    benchmark.extra_info["p95_ms"] = p95
    print(f"median {median:.0f} ms, p95 {p95:.0f} ms a pair")
    assert len(seconds) % SCENES == 0


def problems(marker):
    """The same problems, each with its start."""
    priors = MARKER_PRIORS if marker else DECLARED_PRIORS
    spread = Spread(0.05, 0.05, 0.05, 0.05, 0.03)
    for marks in cases(marker):
        angle, u_angle = shift_rad(marks, priors)
        planes = (Plane.of(marks.straight), Plane.of(marks.shifted))
        yield start(marks, planes, spread, priors, Guess(angle), u_angle)


@METHODS
def test_one_descent(benchmark, marker):
    """With exact derivatives."""
    todo = list(problems(marker))
    benchmark.group = f"one descent, {SCENES} pairs"
    benchmark(lambda: [descend(problem, p, 50) for problem, p in todo])


@METHODS
def test_one_descent_peer(benchmark, marker):
    """Peer: scipy.optimize.least_squares with derivatives by differences, the same residuals, start and tolerances."""
    todo = list(problems(marker))

    def peer():
        return [
            least_squares(
                Residuals(problem).value, p, jac="2-point", method="lm", x_scale=_scale(problem), ftol=1e-4,
                xtol=1e-6, gtol=1e-8, max_nfev=50 * (len(p) + 1),
            )
            for problem, p in todo
        ]  # fmt: skip

    benchmark.group = f"one descent, {SCENES} pairs"
    theirs = benchmark.pedantic(peer, rounds=1, iterations=1)
    ours = [descend(problem, p, 50) for problem, p in todo]
    better = [one.cost <= 2 * other.cost * 1.02 + 0.5 for one, other in zip(ours, theirs, strict=True)]
    assert np.mean(better) >= 0.9
