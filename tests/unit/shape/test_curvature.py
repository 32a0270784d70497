import json

import numpy as np
import pytest
from helpers.bends import bends, bent

from radlength.errors import MarkError, ScaleError
from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.scale import Reference
from radlength.shape.curvature import measure_curvature
from radlength.trade import curvature_rule
from radlength.uncertainty import Marking

REFERENCE = Reference(path_px=[(0, 0), (1000, 0)], length_mm=20.0, limit_mm=0.25)
"""0.02 mm for one pixel."""

MARKS = Marking(apex_mm=0.05, stop_mm=0.05, tip_mm=0.05, path_mm=0.05)


def canal(points_mm):
    return Canal("46", "MB", [tuple(p) for p in points_mm / 0.02 + 50])


def measured(points_mm, **more):
    return measure_curvature(canal(points_mm), REFERENCE, marking=MARKS, **more)


def test_every_figure_names_its_method_and_holds_the_truth():
    found = measured(bent(11, 5, 45, 2, 14), rule=curvature_rule("Schneider 1971"))
    assert found.form == "one bend"
    truth = {"Weine angle": 45, "Pruett angle": 45, "radius": 5}
    for name, value in truth.items():
        one = found.reading(name)
        assert one.value == pytest.approx(value, abs=0.05)
        assert one.low < value < one.high
        assert one.method
        assert one.source
        assert one.u > 0
    assert found.classed == ("Schneider 1971", "severe", found.classed[2])
    assert "severe" in found.classed[2]
    assert [f.code for f in found.findings] == ["curvature-projected"]
    leaves = np.asarray(found.leaves_px[0]) * 0.02 - 1
    assert leaves == pytest.approx([11, 0], abs=0.05)


def test_intervals_hold_the_truth_in_noisy_paths():
    points = bent(10, 6, 40, 2, 12)
    rng = np.random.default_rng(11)
    held = {"Schneider angle": 0, "Pruett angle": 0}
    truth = {"Schneider angle": measured(points).reading("Schneider angle").value, "Pruett angle": 40}
    for seed in range(8):
        found = measured(points + rng.normal(0, 0.05, points.shape), seed=seed)
        for name in held:
            one = found.reading(name)
            held[name] += one.low <= truth[name] <= one.high
    assert min(held.values()) >= 6


def test_the_profile_steps_by_half_a_millimetre_from_the_apical_end():
    found = measured(bent(0, 8, 60, 0, 12))
    assert found.profile.at_mm[:3] == pytest.approx([0, 0.5, 1.0])
    assert np.abs(found.profile.per_mm) == pytest.approx(1 / 8, abs=0.001)
    assert np.all(found.profile.low <= found.profile.per_mm)
    assert np.all(found.profile.per_mm <= found.profile.high)
    assert found.reading("largest curvature").value == pytest.approx(1 / 8, abs=0.001)


PLACE = "apical end to the largest curvature"


def test_where_every_place_bends_alike_none_is_told_as_the_one_that_bends_most():
    """A canal on one wide arc read as 0.00 mm (0.00 to 0.00): the first of equals, as if it were certain."""
    along = np.linspace(0, 18, 8) / 40
    arc = measured(np.column_stack([40 * np.sin(along), 40 * (1 - np.cos(along))]))
    assert np.ptp(arc.profile.per_mm) < 1e-4
    assert arc.reading("largest curvature").value == pytest.approx(1 / 40, rel=0.02)
    assert PLACE not in [one.name for one in arc.readings]


@pytest.mark.parametrize(
    ("above", "radius", "turn", "below", "clicks"),
    [(8, 4, 45, 6, 24), (12, 2, 50, 1, 14), (7, 6, 80, 5, 20), (10, 3, 60, 2, 14), (8, 4, 45, 3, 16)],
)
def test_an_end_that_is_straight_is_never_told_as_the_place_that_bends_most(
    above, radius, turn, below, clicks
):
    """A polynomial makes up at its ends for the corner that straight part and arc make: 0.40 per mm, 0.00 mm from the
    apex and no interval about it, where the arc of 0.25 per mm lies 6 to 9 mm away."""
    found = measured(bent(above, radius, turn, below, clicks))
    arc = (below, below + radius * np.radians(turn))
    told = [one for one in found.readings if one.name == PLACE]
    assert all(arc[0] - 1 < one.value < arc[1] + 1 for one in told)
    peak = found.profile.at_mm[np.abs(found.profile.per_mm).argmax()]
    if not arc[0] - 1 < peak < arc[1] + 1:
        assert "profile-end" in [finding.code for finding in found.findings]


def test_a_place_that_is_known_is_told():
    """Bent most in its middle, less to both ends, by hand: the heading is the integral of the curvature."""
    s = np.linspace(0, 16, 3201)
    heading = np.cumsum(0.15 * (1 - ((s - 8) / 8) ** 2)) * (s[1] - s[0])
    line = np.cumsum(np.column_stack([np.cos(heading), np.sin(heading)]), axis=0) * (s[1] - s[0])
    found = measured(line[np.linspace(0, 3200, 24).astype(int)])
    one = found.reading(PLACE)
    assert one.value == pytest.approx(8, abs=1)
    assert one.low < 8 < one.high
    assert one.high - one.low < 8
    assert "profile-end" not in [finding.code for finding in found.findings]


def test_a_bend_that_reaches_the_apex_is_the_canals_own():
    found = measured(bent(12, 6, 70, 0, 12))
    assert "profile-end" not in [finding.code for finding in found.findings]


def test_an_s_is_measured_as_two_bends():
    found = measured(bends([(6, 5, 35), (1, 4, -45)], 1, 20), rule=curvature_rule("Schneider 1971"))
    assert found.form == "S, two bends"
    assert found.reading("Pruett angle, first bend").value == pytest.approx(35, abs=1)
    assert found.reading("Pruett angle, second bend").value == pytest.approx(45, abs=1)
    assert len(found.leaves_px) == 2
    assert found.classed is not None


def test_a_straight_canal_has_an_angle_and_no_radius():
    found = measured(
        np.column_stack([np.linspace(0, 20, 12), np.zeros(12)]), rule=curvature_rule("Schneider 1971")
    )
    assert (found.form, found.classed[1]) == ("straight", "straight")
    with pytest.raises(MarkError, match="no figure is called 'radius'; one of: Schneider angle"):
        found.reading("radius")


def test_what_lies_above_the_orifice_does_not_count():
    whole = measured(bends([(1, 3, -25), (8, 5, 45)], 2, 30), from_mm=4)
    assert whole.form == "one bend"
    assert whole.reading("Weine angle").value == pytest.approx(45, abs=1)


@pytest.mark.parametrize("from_mm", [-1, 400, float("nan")])
def test_an_orifice_off_the_canal_is_refused(from_mm):
    with pytest.raises(
        MarkError, match=r"a canal that begins .* mm from the reference point; 0 mm up to less than"
    ):
        measured(bent(11, 5, 45, 2, 14), from_mm=from_mm)


def test_a_bend_with_hardly_a_click_in_it_is_a_serious_doubt():
    found = measured(bent(12, 2, 45, 0, 8))
    assert "bend-few-clicks" in [f.code for f in found.findings if f.severity == "serious"]


def test_a_radius_below_any_published_is_a_question():
    found = measured(bent(10, 1.2, 60, 3, 40))
    assert "radius-small" in [f.code for f in found.findings]


def test_pixels_that_are_not_square_are_made_so_first():
    points = bent(11, 5, 45, 2, 14)
    wide = Radiograph.from_array(np.zeros((2000, 900), np.uint8), row_mm=0.02, column_mm=0.04)
    stretched = Canal("46", "MB", [tuple(p) for p in points / (0.02, 0.04) + 20])
    along = Reference(path_px=[(0, 0), (1000, 0)], length_mm=20.0, limit_mm=0.25)
    found = measure_curvature(stretched, along, radiograph=wide, marking=MARKS)
    assert found.reading("Weine angle").value == pytest.approx(45, abs=0.1)


def test_without_a_scale_there_is_no_curvature():
    with pytest.raises(ScaleError, match="no scale"):
        measure_curvature(canal(bent(11, 5, 45, 2, 14)), None)


def test_as_plain_data_it_is_json():
    data = json.loads(json.dumps(measured(bent(11, 5, 45, 2, 14)).as_dict(), allow_nan=False))
    assert data["plane"] == "of the image only"
    assert {one["unit"] for one in data["readings"]} == {"deg", "mm", "1/mm"}
    assert data["class"] is None


@pytest.mark.parametrize("count", range(6, 13))
def test_a_straight_canal_has_no_angle_by_any_method(count):
    """However few its clicks are: no fitted bend beyond the clicks turns the long axis."""
    found = measured(np.column_stack([np.linspace(0, 20, count), np.zeros(count)]))
    assert found.form == "straight"
    for one in found.readings:
        if "angle" in one.name:
            assert one.value == pytest.approx(0, abs=0.1)
            assert one.low == 0


def test_no_bend_at_all_is_inside_the_interval_of_a_straight_canal():
    """20 straight canals clicked with the spread that is stated; before, an angle above none was told of every one."""
    rng = np.random.default_rng(20263)
    points = np.column_stack([np.linspace(0, 20, 10), np.zeros(10)])
    found = [measured(points + rng.normal(0, 0.05, points.shape)) for _ in range(20)]
    assert sum(one.reading("Schneider angle").low == 0 for one in found) >= 17


def test_a_bend_that_is_plain_is_not_called_none():
    assert measured(bent(11, 5, 45, 2, 14)).reading("Schneider angle").low > 15


def test_a_canal_that_bends_from_its_first_click_has_the_angle_of_its_tangent():
    """The chord of an arc of 60 degrees lies at 30 degrees to the tangent (Euclid III.32)."""
    turned = np.radians(np.linspace(0, 60, 12))
    found = measured(np.column_stack([15 * np.sin(turned), 15 - 15 * np.cos(turned)]))
    assert found.reading("Schneider angle").value == pytest.approx(30, abs=0.1)
    assert found.reading("canal access angle").value == pytest.approx(30, abs=0.1)
    assert found.reading("curvature height").value == pytest.approx(0, abs=0.01)
    assert np.asarray(found.leaves_px[0]) * 0.02 - 1 == pytest.approx([0, 0], abs=0.01)


def test_a_bend_between_two_clicks_has_no_radius():
    """One radius fits as well as another where a bend of 2 mm lies between clicks 4 mm apart."""
    along = np.array([0.0, 4.0, 8.0])
    after = 12 + np.array([0.0, 4.0, 8.0])
    corner = np.array([10.0, 0.0])
    way = np.array([np.cos(np.radians(40)), np.sin(np.radians(40))])
    points = np.vstack([np.column_stack([along, np.zeros(3)]), corner + (after - 10)[:, None] * way])
    found = measured(points)
    assert "bend-between-clicks" in [f.code for f in found.findings if f.severity == "serious"]
    assert "radius" not in [one.name for one in found.readings]
    assert found.reading("Weine angle").value == pytest.approx(40, abs=3)


@pytest.mark.parametrize("code", ["bend-between-clicks", "bend-few-clicks"])
def test_a_bend_with_few_clicks_that_may_be_none_is_a_question(code):
    """Straight canals, clicked with the spread that is stated: a bend that trembling makes is no serious doubt."""
    rng, asked = np.random.default_rng(20264), []
    points = np.column_stack([np.linspace(0, 20, 12), np.zeros(12)])
    for _ in range(20):
        found = measured(points + rng.normal(0, 0.05, points.shape))
        if found.reading("Weine angle").low == 0:
            asked += [f.severity for f in found.findings if f.code == code]
    assert set(asked) == {"question"}


def test_a_doubled_click_changes_nothing():
    points = bent(11, 5, 45, 2, 14)
    plain, doubled = measured(points), measured(np.insert(points, 5, points[5] + 0.004, axis=0))
    for name in ("Weine angle", "Schneider angle", "radius", "largest curvature"):
        assert doubled.reading(name).value == pytest.approx(plain.reading(name).value, rel=0.02)


def test_many_close_clicks_are_not_taken_for_one():
    assert measured(bent(11, 5, 45, 2, 900)).reading("Weine angle").value == pytest.approx(45, abs=0.5)


def test_a_path_that_turns_back_is_serious():
    points = [(0, 0), (5, 0), (10, 0), (9, 0.1), (12, 0.2), (16, 1), (20, 3)]
    found = measured(np.array(points, dtype=float))
    assert "path-turns-back" in [f.code for f in found.findings if f.severity == "serious"]


def test_a_path_that_no_line_and_arc_follows_is_serious():
    turned = np.radians(np.linspace(0, 330, 16))
    found = measured(np.column_stack([5 * np.sin(turned), 5 - 5 * np.cos(turned)]))
    assert "bend-fit-poor" in [f.code for f in found.findings if f.severity == "serious"]
