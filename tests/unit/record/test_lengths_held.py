"""A length that a person states: how far it may be off, by hand (JCGM 100:2008, 4.3.7 and 5.1.2)."""

import math

import pytest

from radlength.record.case_lengths import stated_length


def test_a_reading_is_known_to_its_limit_over_root_three():
    assert stated_length(21.0, 0.5).u_mm == pytest.approx(0.5 / math.sqrt(3))


def test_the_limit_of_the_ruler_adds_at_right_angles_and_widens_the_interval():
    plain, ruled = stated_length(21.0, 0.5), stated_length(21.0, 0.5, ruler_limit_mm=0.3)
    assert ruled.u_mm == pytest.approx(math.hypot(0.5, 0.3) / math.sqrt(3))
    assert ruled.low_mm < plain.low_mm < 21.0 < plain.high_mm < ruled.high_mm


def test_the_interval_of_reading_and_ruler_is_that_of_the_sum_of_two_uniform_errors():
    """Exact: their sum is beyond h, either way, with the probability (a + b - h)² / (4 a b) for h >= a - b."""
    a, b = 0.5, 0.3
    half = a + b - math.sqrt(0.05 * 4 * a * b)
    assert stated_length(21.0, a, ruler_limit_mm=b).high_mm - 21.0 == pytest.approx(half, abs=0.01)
