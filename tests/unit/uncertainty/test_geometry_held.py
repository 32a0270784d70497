"""The arms of one view by hand: a piece at an angle a to the detector throws a shadow of cos a of its length.

Angles and shares are the assumptions that the room states (20°, 52°, 25°; 0.047, 0.11, 0.07, 0.155; a depth of 3 mm
seen from 250 mm); whoever changes one changes every interval, and with it the version of the estimate.
"""

import pytest

from radlength.uncertainty.geometry import beside_arms, borrowed_arms, header_arms, in_canal_arms


def arms(found):
    return found.low_mm, found.high_mm


@pytest.mark.parametrize(("gap", "low"), [(0.5, 0.030154), (1.0, 0.060307), (2.0, 0.120615), (4.0, 0.241230)])
def test_the_lower_arm_of_a_gap_is_its_share_at_twenty_degrees(gap, low):
    """1 - cos 20° = 0.0603074 of the gap: it grows with it, and never stands still."""
    assert in_canal_arms(gap).low_mm == pytest.approx(low, abs=1e-6)
    assert in_canal_arms(gap, straight=True).low_mm == pytest.approx(low, abs=1e-6)


def test_the_upper_arm_runs_straight_between_its_corners_and_stays_level_beyond():
    """(0, 0.44), (1.05, 0.565), (1.5, 1.25) mm: half way between two corners lies half of their arms."""
    highs = [in_canal_arms(gap).high_mm for gap in (0.0, 0.525, 1.05, 1.275, 1.5, 4.0)]
    assert highs == pytest.approx([0.44, 0.5025, 0.565, 0.9075, 1.25, 1.25])


def test_a_tip_beyond_the_apex_has_the_lower_arm_of_fifty_two_degrees():
    """1 / cos 52° - 1 = 0.624269 of what is beyond; the upper arm is that of no gap."""
    assert arms(in_canal_arms(-1.0)) == pytest.approx((0.624269, 0.44), abs=1e-6)
    assert arms(in_canal_arms(-2.0)) == pytest.approx((1.248538, 0.44), abs=1e-6)


def test_stated_straight_the_arms_change_places_where_the_tip_is_beyond():
    """1 / cos 25° - 1 = 0.103378."""
    assert arms(in_canal_arms(2.0, straight=True)) == pytest.approx((0.120615, 0.206756), abs=1e-6)
    assert arms(in_canal_arms(-2.0, straight=True)) == pytest.approx((0.206756, 0.120615), abs=1e-6)


def test_outside_the_canal_the_arms_are_shares_of_the_length():
    """Of 20 mm; another canal adds 20 x 3 / 250 = 0.24 mm at right angles: √(1.4² + 0.24²), √(2.2² + 0.24²)."""
    assert arms(beside_arms(20.0)) == pytest.approx((0.94, 2.2))
    assert arms(header_arms(20.0)) == pytest.approx((0.0, 3.1))
    assert arms(borrowed_arms(20.0)) == pytest.approx((1.420423, 2.213052), abs=1e-6)
