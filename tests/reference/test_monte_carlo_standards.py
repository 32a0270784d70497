"""Our Monte Carlo against worked examples of the standards.

Sources: GUM H.1 inputs and results, JCGM 100:2008 (gauge block: l = 50 000 838 nm, u = 32 nm); JCGM 101:2008, 9.2
(additive model; printed values from memory, recomputed) and 9.5 (gauge block by Monte Carlo, shortest 99 %
interval [745, 932] nm, u 36 nm; from memory, recomputed).
"""

import numpy as np
import pytest

from radlength.uncertainty import Budget, BudgetLine, adaptive_monte_carlo
from radlength.uncertainty.budget import half_width_95


@pytest.mark.parametrize(
    ("draw", "u", "arm"),
    [
        pytest.param(lambda r, n: r.normal(0, 1, (4, n)).sum(0), 2.00, 3.92, id="9.2.2-four-normal"),
        pytest.param(
            lambda r, n: r.uniform(-(3**0.5), 3**0.5, (4, n)).sum(0), 2.00, 3.88, id="9.2.3-four-rectangular"
        ),
        pytest.param(
            lambda r, n: (
                r.uniform(-(3**0.5), 3**0.5, (3, n)).sum(0) + r.uniform(-10 * 3**0.5, 10 * 3**0.5, n)
            ),
            10.1,
            17.0,
            id="9.2.4-one-ten-times-wider",
        ),
    ],
)
def test_additive_model(draw, u, arm):
    result = adaptive_monte_carlo(draw, seed=31, min_blocks=100)
    assert result.u == pytest.approx(u, rel=0.007)
    assert -result.low == pytest.approx(arm, abs=0.05)
    assert result.high == pytest.approx(arm, abs=0.05)


def test_the_closed_interval_keeps_the_shape_of_a_wide_rectangle():
    """JCGM 101:2008, 9.2.4: first order alone gives 19.9 where 17.0 is right."""
    assert half_width_95(3**0.5, 10 * 3**0.5) == pytest.approx(17.0, abs=0.05)
    budget = Budget((BudgetLine("three", 3**0.5, "normal", ""), BudgetLine("one", 10.0, "rectangular", "")))
    assert budget.u_mm == pytest.approx(10.15, abs=0.01)
    assert budget.arms_mm == pytest.approx((17.0, 17.0), abs=0.05)


def curved_trapezoid(rng, count, half_width, inexactness):
    """Return draws from limits that are themselves known inexactly (JCGM 101:2008, 6.4.3)."""
    low = -half_width - inexactness + 2 * inexactness * rng.random(count)
    return low - 2 * low * rng.random(count)


def gauge_block(rng, count):
    """Return draws of the length deviation in nm by the model and Table 10 of JCGM 101:2008, 9.5."""
    ls = 50_000_623 + 25 * rng.standard_t(18, count)
    d = 215 + 6 * rng.standard_t(24, count) + 4 * rng.standard_t(5, count) + 7 * rng.standard_t(8, count)
    alpha_s = rng.uniform(9.5e-6, 13.5e-6, count)
    theta = rng.normal(-0.1, 0.2, count) + 0.5 * np.sin(rng.uniform(0, 2 * np.pi, count))
    d_alpha = curved_trapezoid(rng, count, 1e-6, 0.1e-6)
    d_theta = curved_trapezoid(rng, count, 0.05, 0.025)
    return ls + d - ls * (d_alpha * theta + alpha_s * d_theta) - 50_000_000


def test_gauge_block():
    result = adaptive_monte_carlo(gauge_block, seed=7, coverage=0.99, shortest=True, min_blocks=60)
    assert result.mean == pytest.approx(838, abs=1)
    assert result.u == pytest.approx(36, abs=0.6)
    assert (result.low, result.high) == pytest.approx((745, 932), abs=2)
