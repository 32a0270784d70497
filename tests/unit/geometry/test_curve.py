from itertools import product

import numpy as np
import pytest
from helpers.shapes import bent_canal
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.geometry import fit_curve, polyline_length, straight_length
from radlength.geometry.batch import MANY, curve_lengths
from radlength.geometry.curve import (
    NODES,
    STEADY_STEP,
    SWING,
    WEIGHTS,
    clicks_apart,
    degree_for,
    degree_of,
    quadrature,
    swing,
)


def test_both_ends_are_kept_exactly():
    path = bent_canal() + np.random.default_rng(3).normal(0, 0.1, (12, 2))
    curve = fit_curve(path)
    np.testing.assert_allclose(curve.points([0.0, 1.0]), path[[0, -1]], atol=1e-12)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 7, 12, 40])
def test_a_straight_line_has_its_length_at_any_number_of_clicks(count):
    path = np.linspace([0.0, 0.0], [3.0, 4.0], count)
    assert fit_curve(path).length == pytest.approx(5.0, abs=1e-9)


def test_noise_makes_a_curve_hardly_longer_but_a_polyline_much():
    rng = np.random.default_rng(11)
    path = bent_canal(count=40)
    noisy = [path + np.vstack([[0, 0], rng.normal(0, 0.1, (38, 2)), [0, 0]]) for _ in range(200)]
    assert abs(np.mean([fit_curve(p).length for p in noisy]) - 21) < 0.02
    assert np.mean([polyline_length(p) for p in noisy]) - 21 > 0.5


def hooked(count, turn_deg=60.0, over_mm=2.5):
    """Points at equal steps of a canal of 21 mm, straight up to its last millimetres, an arc there."""
    straight, radius = 21 - over_mm, over_mm / np.deg2rad(turn_deg)
    along = np.linspace(0, 21, count)
    turn = np.clip(along - straight, 0, None) / radius
    return np.column_stack([np.minimum(along, straight) + radius * np.sin(turn), radius * (1 - np.cos(turn))])


@pytest.mark.parametrize("count", [12, 16, 150])
def test_many_points_on_a_sharp_bend_are_followed(count):
    """The arc's length is known; degree 4 makes it 0.1 to 0.3 mm shorter."""
    curve = fit_curve(hooked(count))
    assert curve.degree == 8
    assert curve.length == pytest.approx(21, abs=0.06)
    assert fit_curve(hooked(count), degree=4).length < 20.9


def test_the_unit_of_the_points_does_not_change_which_curve_it_is():
    assert fit_curve(hooked(12) * 37).length == pytest.approx(37 * fit_curve(hooked(12)).length, rel=1e-12)


@pytest.mark.parametrize(("count", "most"), [(12, 0.01), (16, 0.002)])
def test_a_trembling_hand_seldom_makes_more_terms_of_a_usual_bend(count, most):
    rng = np.random.default_rng(12)
    path = bent_canal(count=count)
    degrees = [degree_of(path + rng.normal(0, 0.15, path.shape)) for _ in range(2000)]
    assert set(degrees) <= {4, 8}
    assert np.mean([degree > 4 for degree in degrees]) <= most


@pytest.mark.parametrize("bend_deg", [10, 30, 50])
def test_usual_bends_keep_degree_four(bend_deg):
    assert fit_curve(bent_canal(bend_deg=bend_deg)).degree == 4


@pytest.mark.parametrize("path", [hooked(12), hooked(6), bent_canal(), [(0.0, 0.0), (3.0, 4.0)]])
def test_the_degree_of_a_path_is_that_of_its_curve(path):
    assert degree_of(np.asarray(path)) == fit_curve(path).degree


def test_length_between_adds_up():
    curve = fit_curve(bent_canal())
    parts = curve.length_between(0, 0.3) + curve.length_between(0.3, 1)
    assert parts == pytest.approx(curve.length, rel=1e-9)
    assert curve.length_between(0.6, 0.2) == pytest.approx(-curve.length_between(0.2, 0.6))


def test_resampled_points_are_equally_spaced_along_the_curve():
    points = fit_curve(bent_canal(bend_deg=60)).resample(200)
    gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert np.ptp(gaps) / gaps.mean() < 1e-3


def test_point_at_is_clipped_to_the_ends():
    curve = fit_curve(bent_canal())
    np.testing.assert_allclose(curve.point_at(-5), curve.clicks[0], atol=1e-9)
    np.testing.assert_allclose(curve.point_at(99), curve.clicks[-1], atol=1e-9)


def test_the_tangent_has_length_one_and_runs_to_the_end():
    curve = fit_curve(bent_canal())
    tangent = curve.tangent(np.linspace(0, 1, 9))
    np.testing.assert_allclose(np.linalg.norm(tangent, axis=1), 1)
    assert (tangent @ curve.chord > 0).all()


def test_curvature_agrees_with_finite_differences_of_the_tangent():
    curve = fit_curve(bent_canal())
    t, step = np.linspace(0.1, 0.9, 9), 1e-6
    before, after = curve.tangent(t - step), curve.tangent(t + step)
    turned = np.arcsin(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    distance = [curve.length_between(a - step, a + step) for a in t]
    np.testing.assert_allclose(curve.curvature(t), turned / distance, rtol=1e-4, atol=1e-8)


def test_turning_is_about_the_bend():
    gentle = bent_canal(bend_deg=40, bend_mm=14)
    assert np.degrees(fit_curve(gentle).turning_rad) == pytest.approx(40, abs=6)
    assert fit_curve([(0, 0), (3, 4)]).turning_rad == 0


def test_the_profile_covers_the_curve():
    curve = fit_curve(bent_canal())
    distances, curvature = curve.curvature_profile(0.5)
    assert distances[-1] == pytest.approx(21, abs=0.5)
    assert curvature.shape == distances.shape


def test_the_gradient_agrees_with_finite_differences_across_the_curve():
    path = bent_canal() + np.random.default_rng(5).normal(0, 0.1, (12, 2))
    analytic = fit_curve(path).length_gradient()
    numeric = np.zeros_like(path)
    for index in np.ndindex(path.shape):
        for sign in (1, -1):
            moved = path.copy()
            moved[index] += sign * 1e-5
            numeric[index] += sign * fit_curve(moved).length / 2e-5
    assert np.abs(analytic - numeric).max() < 0.05
    assert np.linalg.norm(analytic) == pytest.approx(np.linalg.norm(numeric), rel=0.01)


def test_residuals_tell_the_scatter_of_the_clicks():
    rng = np.random.default_rng(2)
    path = bent_canal(count=40, bend_deg=20)
    path[1:-1] += rng.normal(0, 0.1, (38, 2))
    assert fit_curve(path).residual_rms == pytest.approx(0.1, rel=0.3)
    assert fit_curve([(0, 0), (3, 4)]).residual_rms == 0


@pytest.mark.parametrize("count", [2, 3, 5, 6, 12])
def test_a_batch_gives_the_lengths_of_the_single_fits(count):
    paths = bent_canal(count=count) + np.random.default_rng(7).normal(0, 0.1, (20, count, 2))
    single = [fit_curve(path).length for path in paths]
    np.testing.assert_allclose(curve_lengths(paths, degree_for(count)), single, rtol=1e-5)


@pytest.mark.parametrize(
    "at",
    [
        pytest.param([0, 0.45, 0.45, 0.45, 0.73, 1], id="one place three times"),
        pytest.param([0, 0, 0.5, 0.5, 1, 1], id="three clicks, each doubled"),
        pytest.param([0, 0, 0.3, 0.3, 0.7, 0.7, 1, 1], id="four clicks, each doubled"),
        pytest.param([0, 0.01, 0.015, 0.02, 0.025, 0.5, 1], id="many at the crown"),
    ],
)
def test_clicks_at_one_place_make_no_swing(at):
    rng = np.random.default_rng(3)
    straight = np.column_stack([22.0 * np.array(at), np.zeros(len(at))])
    lengths = [fit_curve(straight + rng.normal(0, 0.05, straight.shape)).length for _ in range(200)]
    assert np.std(lengths) < 0.1
    assert np.mean(lengths) == pytest.approx(22.0, abs=0.03)


@pytest.mark.parametrize("others", [2, 3, 4, 7])
@pytest.mark.parametrize("place", [0.1, 0.3, 0.5, 0.9])
def test_a_hand_that_trembles_long_at_one_place_makes_no_swing(others, place):
    """Twenty clicks each a tenth of a millimetre off are three millimetres of way, and still one place."""
    rng = np.random.default_rng(16)
    along = np.sort(np.concatenate([np.linspace(0, 22, others), np.full(20, 22 * place)]))
    straight = np.column_stack([along, np.zeros(len(along))])
    away = rng.normal(0, 0.1, (200, *straight.shape)) * ((along > 0) & (along < 22))[:, None]
    lengths = np.array([fit_curve(path).length for path in straight + away])
    assert np.abs(lengths - 22).max() < 0.15


def test_clicks_at_one_place_do_not_show_that_a_line_is_smooth():
    """Only points apart do: eight and twenty more at one of them took degree 8 and made 21 mm 24."""
    path = hooked(8)
    many = np.insert(path, 3, path[3] + np.tile([(0.1, 0), (-0.1, 0)], (10, 1)), axis=0)
    assert clicks_apart(many, len(many)) == 8
    assert fit_curve(many).degree == 4
    assert fit_curve(many).length == pytest.approx(21, abs=0.3)


def canal_of(turn_deg, over_mm, along):
    """Points of a canal of 21 mm, straight up to its last millimetres and an arc there, so far along it."""
    straight, radius = 21 - over_mm, over_mm / np.deg2rad(turn_deg)
    turn = np.clip(np.asarray(along) - straight, 0, None) / radius
    return np.column_stack([np.minimum(along, straight) + radius * np.sin(turn), radius * (1 - np.cos(turn))])


@pytest.mark.parametrize("count", [6, 8, 12, 16, 25])
@pytest.mark.parametrize("unmarked_mm", [10.0, 13.0, 15.0])
@pytest.mark.parametrize(("turn_deg", "over_mm"), [(30.0, 8.0), (60.0, 2.5), (75.0, 2.0)])
def test_a_curve_does_not_swing_where_a_hand_clicked_nothing(count, unmarked_mm, turn_deg, over_mm):
    """The cusp, and then the last millimetres alone: lengths of the arcs are known. Degrees 4 and 8 made 21 mm up to
    34 and 2660."""
    along = np.concatenate([[0.0], np.linspace(unmarked_mm, 21, count - 1)])
    for path in (canal_of(turn_deg, over_mm, along), canal_of(turn_deg, over_mm, along)[::-1]):
        curve = fit_curve(path)
        assert curve.length == pytest.approx(21, abs=0.5)
        assert degree_of(path) == curve.degree


def test_a_curve_does_not_swing_before_an_end_or_in_the_middle_either():
    for along in ([0, 1, 2, 3, 4, 5, 6, 21], [0, 1, 2, 3, 18, 19, 20, 21], [0, 0.8, 21]):
        bowed = canal_of(15.0, 20.0, np.asarray(along, dtype=float))
        assert fit_curve(bowed + 0.1 * (np.arange(len(along)) % 2)[:, None] * [0, 1]).length < 21.3


def test_clicks_all_at_one_place_carry_no_term():
    """A learner's answer may be that; no curve runs through it."""
    assert degree_of(np.full((14, 2), 3.0)) == 1


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 8, 12, 30])
def test_evenly_spaced_clicks_keep_their_degree(count):
    assert fit_curve(bent_canal(count=count)).degree == degree_for(count)


def test_how_far_a_curve_may_swing_is_how_far_clicks_that_move_by_one_can_move_it():
    """Against every way in which five clicks can each move by one, up or down."""
    t = np.array([0, 0.45, 0.6, 0.7, 0.8, 0.9, 1.0])
    moved = np.array(list(product((-1, 1), repeat=5)))
    for degree in (2, 3, 4):
        places = np.linspace(0, 1, 201)
        columns = np.stack([t[1:-1] ** k * (1 - t[1:-1]) for k in range(1, degree)], axis=1)
        at = np.stack([places**k * (1 - places) for k in range(1, degree)], axis=1)
        farthest = np.abs(at @ np.linalg.lstsq(columns, moved.T, rcond=None)[0]).max()
        assert swing(t, degree) == pytest.approx(farthest, rel=0.01)
    assert swing(t, 4) > SWING > swing(t, 3)


def test_clicks_near_enough_to_each_other_hold_every_usual_curve():
    """So that it need not be asked: no step is longer than a quarter of the path."""
    rng = np.random.default_rng(19)
    for _ in range(3000):
        steps = np.concatenate(
            [rng.uniform(0.6, 1, rng.integers(4, 7)), rng.exponential(0.1, rng.integers(0, 8))]
        )
        t = np.concatenate([[0.0], np.cumsum(rng.permutation(steps))]) / steps.sum()
        if np.diff(t).max() <= STEADY_STEP:
            assert swing(t, min(degree_for(len(t)), len(t) - 2)) < SWING


@settings(max_examples=40)
@given(
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    turn=st.floats(0, 6.28),
    scale=st.floats(0.1, 50),
    count=st.integers(2, 15),
)
def test_length_ignores_place_turn_mirror_and_direction_and_scales(shift, turn, scale, count):
    path = bent_canal(count=count)
    turned = path @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    length = fit_curve(path).length
    assert fit_curve(turned + shift).length == pytest.approx(length, rel=1e-7)
    assert fit_curve(path * (1, -1)).length == pytest.approx(length, rel=1e-9)
    assert fit_curve(path * scale).length == pytest.approx(length * scale, rel=1e-9)
    assert fit_curve(path[::-1]).length == pytest.approx(length, rel=5e-3)
    assert length >= straight_length(path) - 1e-9


def test_degree_never_interpolates_five_clicks_or_more():
    assert all(degree_for(n) - 1 < n - 2 for n in range(5, 30))


def test_many_paths_at_once_use_the_quadrature_of_one():
    places, weights = quadrature(MANY)
    assert places is NODES
    assert weights is WEIGHTS
    assert not NODES.flags.writeable
    assert not WEIGHTS.flags.writeable
    folded = np.array([[(0, 0), (9, 1), (2, 2), (8, 1), (3, 0), (6, 0.5), (10, 0)]], float)
    assert curve_lengths(folded, 4, MANY)[0] == pytest.approx(fit_curve(folded[0]).length, rel=1e-9)
