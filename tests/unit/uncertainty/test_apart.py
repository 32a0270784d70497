"""The lower limit of the distance of two trembling marks, against the distribution of that distance."""

import math

import pytest
from scipy.stats import rice

from radlength.uncertainty.apart import FAR, apart_arm
from radlength.uncertainty.budget import Z95


def least(far):
    """Return the lower limit that normal error and arm together make, in standard deviations."""
    return far - math.hypot(Z95, apart_arm(far, 1.0))


@pytest.mark.parametrize("far", [2.72, 3.0, 4.0, 8.0, FAR - 0.01, FAR + 0.01, 60.0])
def test_from_the_lower_limit_so_great_a_distance_is_as_rare_as_it_should_be(far):
    """Rice 1945, as scipy tells it; another way to the same than the one that is tried."""
    assert rice.sf(far, least(far)) == pytest.approx(0.025, abs=2e-5)


@pytest.mark.parametrize("far", [2.0, 2.3, 2.71])
def test_where_nothing_is_so_rare_the_limit_is_no_distance_at_all(far):
    assert math.exp(-(far**2) / 2) > 0.025
    assert least(far) == pytest.approx(0.0, abs=1e-9)


def test_nearer_than_the_normal_error_reaches_nothing_is_added():
    assert (apart_arm(0.5, 0.3), apart_arm(0.0, 0.3), apart_arm(3.0, 0.0)) == (0.0, 0.0, 0.0)


def test_it_is_a_length():
    assert apart_arm(0.8, 0.3) == pytest.approx(0.1 * apart_arm(8.0, 3.0))
