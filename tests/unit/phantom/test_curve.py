from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.errors import PhantomError
from radlength.phantom import Bends, canal_curve
from radlength.phantom.curve import rotation

angles = st.floats(-60, 60)
BENDS = st.builds(
    Bends,
    angle_deg=angles,
    azimuth_deg=st.floats(0, 360),
    bend_mm=st.floats(4, 10),
    s_bend_deg=st.floats(-25, 25),
    lean_x_deg=st.floats(-20, 20),
    lean_z_deg=st.floats(-20, 20),
    return_deg=st.floats(0, 10),
)


@given(bends=BENDS, length_mm=st.floats(15, 28))
@settings(max_examples=60, deadline=None)
def test_the_length_along_the_curve_is_the_length_asked_for(bends, length_mm):
    canal = canal_curve("c", (1.0, -10.0, 2.0), length_mm, bends)
    points = canal.at(np.linspace(0, length_mm, 20_001))
    along = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert along == pytest.approx(length_mm, abs=2e-4)
    assert np.linalg.norm(canal.tangents, axis=1) == pytest.approx(np.ones(129))


def test_an_arc_ends_where_a_circle_does():
    """Arc of radius r over 60 degrees: chord 2 r sin(30 deg); sources of geometry."""
    length = 5.0 * np.pi / 3
    canal = canal_curve("c", (0, 0, 0), length, Bends(60, 90, length))
    assert canal.points_mm[-1] == pytest.approx([0, 5 * np.sin(np.pi / 3), 2.5], abs=1e-8)
    assert np.linalg.norm(canal.points_mm[-1]) == pytest.approx(5.0, abs=1e-8)


def test_a_curve_goes_on_straight_past_its_ends():
    canal = canal_curve("c", (0, 0, 0), 20.0, Bends(30, 0, 7))
    before, after = canal.at([-2.0, 22.0])
    assert before == pytest.approx([0, -2, 0])
    assert after == pytest.approx(canal.points_mm[-1] + 2 * canal.tangents[-1])


def test_azimuth_tells_the_side_of_the_bend():
    across = canal_curve("c", (0, 0, 0), 20.0, Bends(30, 0)).points_mm[-1]
    along = canal_curve("c", (0, 0, 0), 20.0, Bends(30, 90)).points_mm[-1]
    assert across[0] > 1.5
    assert across[2] == 0
    assert along[2] == pytest.approx(across[0])
    assert along[0] == pytest.approx(0)


def test_a_lean_turns_the_first_tangent():
    canal = canal_curve("c", (0, 0, 0), 20.0, Bends(lean_x_deg=10))
    assert canal.tangents[0] == pytest.approx([np.sin(np.radians(10)), np.cos(np.radians(10)), 0])


@pytest.mark.parametrize("length", [0.0, -1.0, float("nan"), float("inf")])
def test_no_canal_without_a_length(length):
    with pytest.raises(PhantomError, match="a length above 0 mm"):
        canal_curve("c", (0, 0, 0), length, Bends())


def test_rotation_turns_toward_the_tube_then_across():
    assert rotation(90, 0) @ (0, 1, 0) == pytest.approx([0, 0, 1])
    assert rotation(0, 90) @ (0, 1, 0) == pytest.approx([-1, 0, 0])
