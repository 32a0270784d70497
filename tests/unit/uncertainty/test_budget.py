import math

import numpy as np
import pytest

from radlength.uncertainty import Budget, BudgetLine, two_arms
from radlength.uncertainty.budget import Z95, half_width_95


@pytest.mark.parametrize(
    ("sd", "limit"),
    [
        pytest.param(0.1, 0.5, id="rectangle-wins"),
        pytest.param(0.3, 0.3, id="equal"),
        pytest.param(0.5, 0.05, id="normal-wins"),
        pytest.param(0.02, 0.5, id="almost-a-rectangle"),
    ],
)
def test_half_width_agrees_with_drawn_values(sd, limit):
    rng = np.random.default_rng(4)
    values = rng.normal(0, sd, 400_000) + rng.uniform(-limit, limit, 400_000)
    assert half_width_95(sd, limit) == pytest.approx(np.quantile(np.abs(values), 0.95), rel=0.01)


def test_half_width_at_its_limits():
    assert half_width_95(0.2, 0.0) == pytest.approx(0.2 * Z95)
    assert half_width_95(0.0, 0.2) == pytest.approx(0.19)
    assert half_width_95(0.0, 0.0) == 0


def test_half_width_grows_with_both_parts():
    widths = [half_width_95(sd, 0.3) for sd in (0.01, 0.1, 0.2, 0.4)]
    assert widths == sorted(widths)
    assert half_width_95(0.1, 0.4) > half_width_95(0.1, 0.3)


def test_unequal_arms_stay_unequal():
    budget = Budget((BudgetLine("marks", 0.1, "normal", ""), two_arms("geometry", 0.1, 0.5, "")))
    low, high = budget.arms_mm
    assert low == pytest.approx(math.hypot(0.1 * Z95, 0.1))
    assert high == pytest.approx(math.hypot(0.1 * Z95, 0.5))


def test_shares_sum_to_a_hundred():
    budget = Budget((BudgetLine("a", 0.1, "normal", ""), BudgetLine("b", 0.2, "rectangular", "")))
    assert sum(budget.shares_percent) == pytest.approx(100)
    assert budget.shares_percent[1] == pytest.approx(80)


def test_an_empty_budget_is_exact():
    assert Budget(()).u_mm == 0
    assert Budget(()).arms_mm == (0, 0)
    assert Budget((BudgetLine("a", 0.0, "normal", ""),)).shares_percent == (0.0,)
