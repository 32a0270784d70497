"""Slices of a phantom: a cavity is worked out only where it reaches, and that is everywhere it is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.phantom.slices import Cavity, Grid, _inside, _reach

GRID = Grid.over(9.0, 7.0, 0.2, 0.5)
SIZE = st.floats(0.3, 3.0)


@settings(deadline=None)
@given(
    st.tuples(st.floats(-9, 9), st.floats(-3, 3)),
    st.tuples(SIZE, SIZE),
    st.tuples(st.floats(-8, 2), st.floats(0.5, 6)),
    st.sampled_from([0.0, 0.22]),
    st.sampled_from([3.0, 8.0]),
    st.floats(-4, 4),
)
def test_nothing_of_a_cavity_lies_beyond_its_reach(place, half, height, flare, boxy, z_mm):
    cavity = Cavity(*place, *half, height[0], height[0] + height[1], flare, boxy)
    whole = _inside(cavity, GRID.y_mm, GRID.x_mm, z_mm)
    rows, columns = _reach(cavity, GRID, z_mm)
    assert (
        whole[rows, columns].tolist() == _inside(cavity, GRID.y_mm[rows], GRID.x_mm[columns], z_mm).tolist()
    )
    whole[rows, columns] = 0
    assert not whole.any()


@pytest.mark.parametrize("z_mm", [0.0, 0.9])
def test_the_middle_of_a_cavity_is_within_its_reach(z_mm):
    cavity = Cavity(1.0, 0.0, 1.0, 1.0, -2.0, 2.0)
    rows, columns = _reach(cavity, GRID, z_mm)
    assert GRID.y_mm[rows][0] < 0 < GRID.y_mm[rows][-1]
    assert GRID.x_mm[columns][0] < 1 < GRID.x_mm[columns][-1]
    assert np.ptp(GRID.x_mm[columns]) < 4
