"""How far points lie off a fitted heading, and how it runs, on circles made by hand that are turned anyhow."""

import numpy as np
import pytest

from radlength.geometry.heading import fit_heading

RADIUS = 12.0


def arc(turn_deg, off):
    """Points on a circle, each moved so far across it, the whole turned about its first point."""
    at, turn = np.linspace(0.0, 1.2, len(off)), np.radians(turn_deg)
    reach = RADIUS + np.asarray(off)
    points = np.column_stack([reach * np.sin(at), RADIUS - reach * np.cos(at)])
    turned = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return points @ turned.T + (40.0, -7.0)


@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 90.0, 215.0])
def test_what_is_left_is_how_far_points_lie_across(turn_deg):
    """Moved by turns by 0.05 outward and inward: no circle gets nearer than nearly all of that."""
    off = 0.05 * (-1.0) ** np.arange(25)
    assert fit_heading(arc(turn_deg, off), degree=1).residual_rms == pytest.approx(0.05, rel=0.05)
    assert fit_heading(arc(turn_deg, 0.0 * off), degree=1).residual_rms < 1e-5


@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 90.0, 215.0])
def test_points_of_it_lie_on_the_circle_from_end_to_end(turn_deg):
    found = fit_heading(arc(turn_deg, np.zeros(15)))
    clean = arc(turn_deg, np.zeros(31))
    assert found.points(31) == pytest.approx(clean, abs=1e-3)
    assert found.length == pytest.approx(1.2 * RADIUS, rel=1e-5)
    assert found.curvature([0.0, 5.0, 14.0]) == pytest.approx(1 / RADIUS, rel=1e-3)
