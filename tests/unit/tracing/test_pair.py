"""Two lines side by side: drawn as sums, found again each by itself; and which of two ends a click means."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from radlength.tracing.pair import find_pair
from radlength.tracing.pair_ends import pair_ends, pair_strip
from radlength.tracing.pair_sums import ACROSS_MM, line_profile
from radlength.tracing.strip import steps
from radlength.tracing.tip import End
from radlength.tracing.tip_choice import CLICK_SD_MM, WEIGHTS, Seen, choose, which_u_mm
from radlength.tracing.two_steps import two_steps

AT = steps(-3.2, 1.5, 0.04)
SIDE_MM = 0.03


def drawn(lines, noise=1.0):
    """Return a strip of lines (place across at 0, slope, end, height), half width 0.1 mm, in noise."""
    strip = np.random.default_rng(5).normal(100, noise, (len(AT), len(ACROSS_MM)))
    for place, slope, end, height in lines:
        away = ACROSS_MM - (place + slope * AT)[:, None]
        strip += height * line_profile(away, np.array(0.1)) * ndtr((end - AT) / 0.06)[:, None]
    return strip


@pytest.mark.parametrize("apart_mm", [0.15, 0.2, 0.3, 0.6])
def test_two_lines_are_told_apart_even_where_they_overlap(apart_mm):
    pair = find_pair(drawn([(0, 0, 0, 50), (apart_mm, 0.05, 0.5, 45)]), AT, 0.0)
    places = [float(np.interp(-0.5, AT, one.across_mm)) for one in pair.courses]
    assert places == pytest.approx([0, apart_mm - 0.025], abs=0.03)


def test_how_much_better_two_lines_are_tells_two_from_one():
    one, two = (
        find_pair(drawn(lines), AT, 0.0).better
        for lines in ([(0, 0, 0, 50)], [(0, 0, 0, 50), (0.4, 0, 0.3, 50)])
    )
    assert one == pytest.approx(1, abs=0.03)
    assert two > 1.5


def test_each_of_two_ends_is_found_beside_the_other():
    """On an image: columns 0.25 mm apart, one ends 0.5 mm before the other."""
    rows, columns = np.mgrid[:300, :200] * SIDE_MM
    grey = np.random.default_rng(6).normal(100, 1, rows.shape)
    for place, end in ((3.0, 6.0), (3.25, 6.5)):
        grey += 50 * line_profile(columns - place, np.array(0.1)) * ndtr((end - rows) / 0.06)
    line = np.column_stack([steps(1, 7, 0.1), np.full(61, 3.0)])
    seen = pair_ends(pair_strip(grey, line, np.array([6.1, 3.1]), np.full(2, SIDE_MM)), guess_sd_mm=0.25)
    found = np.array([one.point_mm for one in seen.ends])
    assert seen.better > 1.1
    assert np.abs(found - [[6.0, 3.0], [6.5, 3.25]]).max() < 0.04
    assert min(one.gain for one in seen.ends) > 6


def lying_on_another(end_mm):
    """Return the ends seen near a click between both: two lines 0.02 mm apart, one ends at 6 mm."""
    rows, columns = np.mgrid[:300, :200] * SIDE_MM
    grey = np.random.default_rng(6).normal(100, 1, rows.shape)
    for place, end in ((3.0, 6.0), (3.02, end_mm)):
        grey += 30 * line_profile(columns - place, np.array(0.1)) * ndtr((end - rows) / 0.06)
    line = np.column_stack([steps(1, 7, 0.1), np.full(61, 3.0)])
    return pair_ends(pair_strip(grey, line, np.array([6.2, 3.0]), np.full(2, SIDE_MM)), guess_sd_mm=0.25)


def test_a_line_on_which_another_lies_ends_twice():
    seen = lying_on_another(6.6)
    assert [one.point_mm[0] for one in seen.on_one] == pytest.approx([6.0, 6.6], abs=0.05)
    assert lying_on_another(6.0).on_one == ()


def test_two_falls_of_heights_are_told_from_one():
    at = steps(-2, 2, 0.04)
    noise = np.random.default_rng(7).normal(0, 0.5, at.shape)
    one, other = (30 * ndtr((place - at) / 0.07) for place in (-0.2, 0.5))
    first, second, gain = two_steps(one + other + noise, at, 0.0)
    assert (first, second) == pytest.approx((-0.2, 0.5), abs=0.04)
    assert gain > 10
    assert two_steps(2 * one + noise, at, 0.0)[2] < 5
    assert two_steps(np.zeros_like(at), at, 0.0)[2] == -np.inf


def test_an_even_strip_holds_no_line():
    pair = find_pair(np.full((len(AT), len(ACROSS_MM)), 80.0), AT, 0.0)
    assert pair.courses == ()


def seen(row, column, *, gain=20.0, step=1.0, strength=8.0):
    place = np.array([row, column])
    end = End(place, np.array([1.0, 0.0]), 0.01, 0.08, 1.0, gain, step, place[None])
    return Seen(end, place, strength)


def test_the_click_tells_which_of_two_ends_is_meant_or_that_it_does_not():
    two = (seen(10, 5), seen(10, 5.6))
    assert choose(two, np.array([10, 5.05]), 1.5)[0] == 0
    assert choose(two, np.array([10, 5.55]), 1.5)[0] == 1
    assert choose(two, np.array([10, 5.05]), 1.5)[1] > 0.95
    assert choose(two, np.array([10, 5.3]), 1.5)[1] == pytest.approx(0.5, abs=0.01)


def test_ends_near_one_another_that_may_both_be_meant_make_the_tip_less_certain():
    """By the odds of the click: the root mean square distance of the other end, as often as it is meant."""
    two, alone = (seen(10, 5), seen(10, 5.28)), (seen(10, 5),)
    for place in (5.13, 5.0, 4.7):
        odds = np.exp(WEIGHTS["click"] * ((5.28 - place) ** 2 - (5 - place) ** 2) / (2 * CLICK_SD_MM**2))
        u_mm = which_u_mm(two, np.array([10, place]), 1.5)
        assert u_mm == pytest.approx(0.28 / np.sqrt(1 + odds), rel=1e-3)
        assert choose(two, np.array([10, place]), 1.5)[1] == pytest.approx(1.0)
    assert which_u_mm(alone, np.array([10, 5.1]), 1.0) == 0.0


def test_ends_that_are_one_speak_for_one_another():
    three = (seen(10, 5), seen(10, 5.03, strength=None), seen(10.2, 5))
    assert choose(three, np.array([10, 5]), 1.0) == (0, pytest.approx(1.0))


def test_of_two_lines_told_apart_the_end_of_the_pair_is_taken():
    both = (seen(10, 5), seen(10, 5.03, strength=None), seen(10.9, 5.4, strength=None))
    assert choose(both, np.array([10, 5]), 1.5)[0] == 1
    assert choose(both, np.array([10, 5]), 1.02)[0] == 0


def test_another_line_that_lies_on_one_may_be_meant_where_the_click_is_nearer_to_its_end():
    steps_seen = [Seen(seen(row, 5).end, np.array([row, 5.0]), on_one=True) for row in (10.0, 10.6)]
    both = [seen(10.6, 5), *steps_seen]
    assert choose(both, np.array([10.6, 5.0]), 1.0)[1] > 0.95
    assert choose(both, np.array([10.2, 5.0]), 1.0)[1] < 0.93
    assert choose(both, np.array([9.9, 5.0]), 1.0)[0] == 1


def test_what_hardly_ends_is_less_likely_than_what_does():
    assert choose((seen(10, 5, gain=1.0), seen(10, 5.4)), np.array([10, 5.2]), 1.0)[0] == 1
    assert choose((seen(10, 5, step=6.0), seen(10, 5.4)), np.array([10, 5.2]), 1.0)[0] == 1


def test_far_from_all_ends_the_first_is_taken():
    number, sure = choose((seen(10, 5),), np.array([20, 5]), 1.0)
    assert (number, sure) == (0, 1.0)
