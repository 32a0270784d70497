"""How often chance alone puts two of several sound values apart: counted among normal values drawn by numpy."""

import re

import numpy as np
import pytest

from radlength.length.reconcile import _by_chance

Z95 = 1.959963984540054


@pytest.mark.parametrize(("values", "e_n"), [(3, 1.0), (5, 1.0), (10, 1.2), (16, 1.3), (10, 1.0)])
def test_the_share_by_chance_is_that_of_as_many_normal_values(values, e_n):
    """n values make n (n - 1) / 2 pairs; E_n of two values with one spread is their difference over 1.96 √2 of it."""
    drawn = np.random.default_rng(8).normal(size=(200_000, values))
    share = 100 * np.mean(np.ptp(drawn, axis=1) > e_n * Z95 * np.sqrt(2))
    told = re.search(r"in (\d+) of 100", _by_chance(e_n, values * (values - 1) // 2))
    assert told
    assert int(told[1]) == pytest.approx(share, abs=0.9)
