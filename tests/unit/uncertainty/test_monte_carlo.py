import numpy as np
import pytest

from radlength.uncertainty import adaptive_monte_carlo
from radlength.uncertainty.monte_carlo import (
    block_size,
    numerical_tolerance,
    shortest_interval,
    symmetric_interval,
)


def draw(rng, count):
    return rng.normal(20.0, 0.2, count)


def test_the_same_seed_gives_the_same_result():
    assert adaptive_monte_carlo(draw, seed=5) == adaptive_monte_carlo(draw, seed=5)
    assert adaptive_monte_carlo(draw, seed=5) != adaptive_monte_carlo(draw, seed=6)


def test_a_normal_variable_settles_within_its_tolerance():
    result = adaptive_monte_carlo(draw, seed=1)
    assert result.settled
    assert result.mean == pytest.approx(20.0, abs=result.tolerance)
    assert result.u == pytest.approx(0.2, abs=result.tolerance)
    assert result.low == pytest.approx(20 - 0.392, abs=2 * result.tolerance)


def test_it_stops_at_the_last_allowed_block_and_says_so():
    result = adaptive_monte_carlo(lambda rng, n: rng.standard_cauchy(n), seed=1, min_blocks=2, max_blocks=3)
    assert not result.settled
    assert result.trials == 30_000


def test_more_digits_need_more_trials():
    one, two = (adaptive_monte_carlo(draw, seed=2, digits=digits, min_blocks=2).trials for digits in (1, 2))
    assert two > one


def test_a_constant_settles_at_once():
    result = adaptive_monte_carlo(lambda _rng, n: np.full(n, 3.0), seed=0)
    assert (result.mean, result.u, result.trials, result.settled) == (3.0, 0.0, 100_000, True)


def test_the_shortest_interval_of_a_skewed_variable_is_shorter():
    values = np.random.default_rng(0).exponential(size=100_000)
    shortest, symmetric = shortest_interval(values), symmetric_interval(values)
    assert np.diff(shortest) < np.diff(symmetric)
    assert shortest[0] < symmetric[0]


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [
        pytest.param(0.35, 2, 0.005, id="two-digits"),
        pytest.param(0.0994, 2, 0.0005, id="stays"),
        pytest.param(0.996, 2, 0.05, id="rounds-up-a-decade"),
        pytest.param(0.0, 2, 0.0, id="exact"),
    ],
)
def test_tolerance(u, digits, tolerance):
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance)


def test_blocks_grow_with_the_coverage():
    assert block_size(0.95) == 10_000
    assert block_size(0.99999) == 10_000_000
