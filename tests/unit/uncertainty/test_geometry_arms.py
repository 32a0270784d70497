import numpy as np
import pytest

from radlength.uncertainty.geometry import (
    HIDDEN_MM,
    STRAIGHT_DEG,
    beside_arms,
    borrowed_arms,
    header_arms,
    in_canal_arms,
)


def test_no_gap_leaves_only_what_may_run_along_the_beam_unseen():
    arms = in_canal_arms(0.0)
    assert (arms.low_mm, arms.high_mm) == (0, HIDDEN_MM[0][1])


def test_arms_grow_with_the_gap_and_the_upper_is_longer():
    arms = [in_canal_arms(gap) for gap in (0.0, 0.5, 1, 1.4)]
    assert [a.low_mm for a in arms] == sorted(a.low_mm for a in arms)
    assert [a.high_mm for a in arms] == sorted(a.high_mm for a in arms)
    assert arms[0].high_mm < arms[-1].high_mm
    assert all(a.high_mm > a.low_mm for a in arms)


def test_a_tip_beyond_the_apex_makes_the_lower_arm_the_longer_one():
    arms = in_canal_arms(-1.5)
    assert arms.low_mm > arms.high_mm > 0
    assert arms.low_mm > in_canal_arms(1.5).low_mm


@pytest.mark.parametrize("gap", [-1e-9, 1e-9])
def test_arms_do_not_jump_where_the_tip_meets_the_apex(gap):
    here, there = in_canal_arms(gap), in_canal_arms(0.0)
    assert (here.low_mm, here.high_mm) == pytest.approx((there.low_mm, there.high_mm), abs=1e-6)


@pytest.mark.parametrize("gap", [0.5, 2.0, 4.0])
def test_a_canal_stated_straight_has_narrower_arms(gap):
    assert in_canal_arms(gap, straight=True).high_mm < in_canal_arms(gap).high_mm
    assert in_canal_arms(-gap, straight=True).low_mm < in_canal_arms(-gap).low_mm


def test_a_stated_straight_gap_at_the_remaining_angle_throws_the_shadow_it_was_solved_for():
    true = 2.0 + in_canal_arms(2.0, straight=True).high_mm
    assert true * np.cos(np.radians(STRAIGHT_DEG)) == pytest.approx(2.0)


def test_the_order_of_the_ways_to_a_scale():
    in_canal, beside, borrowed = in_canal_arms(2.0), beside_arms(22.0), borrowed_arms(22.0)
    assert in_canal.low_mm < beside.low_mm < borrowed.low_mm
    assert beside.high_mm < header_arms(22.0).high_mm
