import numpy as np
import pytest

from radlength.uncertainty.geometry import (
    HIDDEN_ANGLE_DEG,
    beside_arms,
    borrowed_arms,
    header_arms,
    in_canal_arms,
)


def test_no_gap_no_arms():
    arms = in_canal_arms(0.0)
    assert (arms.low_mm, arms.high_mm) == (0, 0)


def test_arms_grow_with_the_gap_and_the_upper_is_longer():
    arms = [in_canal_arms(gap) for gap in (0.5, 1, 2, 4)]
    assert [a.low_mm for a in arms] == sorted(a.low_mm for a in arms)
    assert [a.high_mm for a in arms] == sorted(a.high_mm for a in arms)
    assert all(a.high_mm > a.low_mm for a in arms)


def test_a_tip_beyond_the_apex_is_as_unsure_as_one_before_it():
    assert in_canal_arms(-1.5).high_mm == in_canal_arms(1.5).high_mm


def test_a_gap_at_the_hidden_angle_throws_the_shadow_it_was_solved_for():
    true = 2.0 + in_canal_arms(2.0).high_mm
    assert true * np.cos(np.radians(HIDDEN_ANGLE_DEG)) == pytest.approx(2.0)


def test_the_order_of_the_ways_to_a_scale():
    in_canal, beside, borrowed = in_canal_arms(2.0), beside_arms(22.0), borrowed_arms(22.0)
    assert in_canal.low_mm < beside.low_mm < borrowed.low_mm
    assert beside.high_mm < header_arms(22.0).high_mm
