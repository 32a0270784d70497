import math

import numpy as np
import pytest
from helpers.bends import bends, bent

from radlength.errors import MarkError
from radlength.geometry.bend import fit_bends, refit_bends
from radlength.geometry.heading import fit_heading


@pytest.mark.parametrize("turn", [0.0, 40.0, 137.0])
@pytest.mark.parametrize("side", [1, -1], ids=["right", "left"])
def test_a_bend_is_the_same_wherever_it_looks(turn, side):
    points = bent(9, 4, 50, 2, 18) * (1, side)
    a = math.radians(turn)
    turned = points @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]]) + (300, 200)
    found = fit_bends(turned)
    assert math.degrees(found.angle_rad()[0]) == pytest.approx(side * 50, abs=0.05)
    assert found.radius()[0] == pytest.approx(4, rel=0.005)
    assert np.hypot(*(found.ends()[0] - found.starts()[0])) == pytest.approx(
        8 * math.sin(a_half(50)), abs=0.02
    )
    assert found.residual_rms[0] < 1e-4


def a_half(angle_deg):
    return math.radians(angle_deg / 2)


def test_a_straight_path_has_no_bend():
    found = fit_bends(np.column_stack([np.linspace(0, 20, 12), np.zeros(12)]))
    assert abs(math.degrees(found.angle_rad()[0])) < 0.5


def test_a_bend_that_goes_on_beyond_the_last_point_counts_as_far_as_it_is_seen():
    found = fit_bends(bent(8, 6, 45, 0, 20))
    assert math.degrees(found.angle_rad()[0]) == pytest.approx(45, abs=0.1)


def test_two_bends_come_back_with_their_sides():
    found = fit_bends(bends([(6, 5, 30), (1, 4, -40)], 1, 30), arcs=2)
    assert np.degrees([found.angle_rad(k)[0] for k in (0, 1)]) == pytest.approx([30, -40], abs=0.3)
    assert [found.radius(k)[0] for k in (0, 1)] == pytest.approx([5, 4], rel=0.02)


def test_noise_spreads_the_angle_around_its_truth():
    points = bent(9, 5, 45, 2, 14)
    rng = np.random.default_rng(4)
    many = refit_bends(fit_bends(points), points + rng.normal(0, 0.05, (300, *points.shape)), noise=0.05)
    angles = np.degrees(many.angle_rad())
    assert np.median(angles) == pytest.approx(45, abs=1.0)
    assert 1 < angles.std() < 5


def test_a_first_click_made_thrice_turns_no_bend():
    """Where it trembles it has no direction to begin with."""
    points = bent(9, 6, 40, 3, 9)
    rng = np.random.default_rng(2)
    for _ in range(20):
        clicks = np.vstack([points[:1], points[:1], points])
        found = fit_bends(clicks + rng.normal(0, 0.05, clicks.shape))
        assert abs(math.degrees(found.angle_rad()[0])) == pytest.approx(40, abs=8)


@pytest.mark.parametrize(("count", "arcs", "least"), [(5, 1, 6), (8, 2, 9)])
def test_too_few_points_are_refused(count, arcs, least):
    with pytest.raises(
        MarkError, match=f"a path of {count} points for {arcs} bends?; {least} points or more"
    ):
        fit_bends(bent(9, 5, 45, 2, count), arcs=arcs)


def test_too_few_points_have_no_curvature():
    with pytest.raises(MarkError, match="a path of 5 points; 6 points or more for a curvature"):
        fit_heading(bent(9, 5, 45, 2, 5))


@pytest.mark.parametrize("more", [1, 2, 4])
def test_clicks_at_one_place_count_once_for_a_curvature(more):
    """A hand that trembles by 0.1 mm: what only that tells would be a curvature of thousands."""
    arc = bent(0, 20, 50, 0, 6)
    rng = np.random.default_rng(5)
    for _ in range(20):
        points = np.insert(arc, [3] * more, arc[2], axis=0) + rng.normal(0, 0.1, (6 + more, 2))
        found = fit_heading(points)
        assert len(found.coefficients) - 1 == 2
        assert np.abs(found.curvature(np.linspace(0, found.length, 21)) - 1 / 20).max() < 0.15


def test_a_heading_passes_its_points():
    points = bent(0, 9, 50, 0, 10)
    found = fit_heading(points)
    along = found.points(400)
    assert max(np.hypot(*(along - p).T).min() for p in points) < 0.03
    assert math.degrees(found.angle_rad(found.length) - found.angle_rad(0.0)) == pytest.approx(50, abs=0.05)


def test_what_moves_a_heading_to_first_order_is_what_a_new_fit_finds():
    points = bent(0, 12, 60, 0, 12)
    found = fit_heading(points)
    moves = np.random.default_rng(3).normal(0, 0.02, (40, *points.shape))
    s = np.linspace(0.5, found.length - 0.5, 20)
    quick = found.curvatures(found.moved(moves), s)
    again = np.array([fit_heading(points + move).curvature(s) for move in moves])
    assert np.abs(quick - again).max() < 0.1 * again.std(axis=0).max()
