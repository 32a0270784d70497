from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from radlength.errors import PhantomError
from radlength.phantom import KINDS, Draw, random_scene
from radlength.phantom.draw import draw

MANY = [draw(np.random.default_rng(seed)) for seed in range(4000)]
RANGES = {
    "theta_deg": (0, 25),
    "depth_mm": (4, 12),
    "sdd_mm": (250, 350),
    "length_mm": (18, 25),
    "bend_deg": (0, 40),
    "azimuth_deg": (0, 360),
    "gap_mm": (0.5, 4),
    "reference_depth_mm": (-4, 4),
}
SPREADS = {
    "phi_error_deg": 5,
    "horizontal_deg": 5,
    "yaw_deg": 5,
    "roll_deg": 4,
    "s_bend_deg": 5,
    "reference_tilt_deg": 5,
    "reference_lean_deg": 4,
    "inclination_deg": 5,
    "lean_deg": 3,
}


@pytest.mark.parametrize(("name", "limits"), RANGES.items(), ids=list(RANGES))
def test_what_is_drawn_evenly(name, limits):
    values = np.array([getattr(one, name) for one in MANY])
    low, high = limits
    assert low <= values.min() < low + 0.01 * (high - low)
    assert high - 0.01 * (high - low) < values.max() <= high
    assert values.mean() == pytest.approx((low + high) / 2, abs=0.02 * (high - low))


@pytest.mark.parametrize(("name", "sd"), SPREADS.items(), ids=list(SPREADS))
def test_what_is_drawn_normally(name, sd):
    values = np.array([getattr(one, name) for one in MANY])
    assert values.std() == pytest.approx(sd, rel=0.05)
    assert abs(values.mean()) < 0.08 * sd


def test_no_two_numbers_move_together():
    table = np.array([list(dataclasses.astuple(one)[:17]) for one in MANY])
    assert np.abs(np.corrcoef(table.T) - np.eye(17)).max() < 0.07


def test_the_same_seed_gives_the_same_scene():
    one, two = random_scene(12), random_scene(12)
    assert np.array_equal(one.canal().points_mm, two.canal().points_mm)
    assert one.view == two.view
    assert random_scene(13).view != one.view


def test_a_number_given_leaves_all_others():
    free, held = random_scene(5), random_scene(5, gap_mm=1.0)
    assert held.gap_mm(held.instruments[0]) == pytest.approx(1.0)
    assert held.view == free.view
    assert np.array_equal(held.canal().points_mm, free.canal().points_mm)
    assert np.array_equal(held.marker.points_mm, free.marker.points_mm)


def test_the_tube_follows_the_bisecting_rule_unless_told():
    assert random_scene(1, theta_deg=20.0, phi_error_deg=0.0).view.phi_deg == 10.0
    assert random_scene(1, theta_deg=20.0, phi_deg=3.0).view.phi_deg == 3.0


def test_the_detector_clears_a_tilted_tooth():
    assert random_scene(1, theta_deg=25.0, depth_mm=4.0).view.depth_mm == pytest.approx(7.6488, abs=1e-4)
    assert random_scene(1, theta_deg=0.0, depth_mm=4.0).view.depth_mm == 4.0


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_holds_together(kind):
    for seed in range(25):
        scene = random_scene(seed, kind=kind, instruments=9)
        assert len(scene.instruments) == len(scene.canals)
        names = [canal.name for canal in scene.canals]
        assert len(set(names)) == len(names)
        for canal, tool in zip(scene.canals, scene.instruments, strict=True):
            assert 16 < canal.length_mm < 28
            assert 0.5 <= scene.gap_mm(tool) <= 4
            assert np.all(np.diff(canal.points_mm[:, 1]) > 0)


def test_molars_have_three_or_four_canals():
    counts = {kind: [len(random_scene(s, kind=kind).canals) for s in range(300)] for kind in KINDS}
    assert set(counts["lower_molar"]) == set(counts["upper_molar"]) == {3, 4}
    assert np.mean(np.array(counts["lower_molar"]) == 4) == pytest.approx(0.22, abs=0.07)
    assert np.mean(np.array(counts["upper_molar"]) == 4) == pytest.approx(0.68, abs=0.08)
    assert set(counts["single"]) == set(counts["s_bend"]) == set(counts["wide_apex"]) == {1}


def test_the_s_bend_bends_both_ways():
    tangents = (
        random_scene(3, kind="s_bend", azimuth_deg=0.0, inclination_deg=0.0, lean_deg=0.0).canal().tangents
    )
    assert tangents[:, 0].min() < -0.15
    assert tangents[:, 0].max() > 0.15


def test_the_marker_is_rigid_and_not_flat():
    marker = random_scene(9).marker
    apart = lambda points: np.linalg.norm(points[:, None] - points[None], axis=-1)  # noqa: E731
    assert apart(marker.points_mm) == pytest.approx(apart(marker.shape_mm))
    assert np.linalg.matrix_rank(marker.shape_mm - marker.shape_mm.mean(axis=0), tol=1e-6) == 3
    flat = marker.shape_mm[: marker.coplanar]
    assert np.linalg.matrix_rank(flat - flat.mean(axis=0), tol=1e-6) == 2


def test_beside_references_have_the_length_they_state():
    scene = random_scene(4)
    for rod, step in ((scene.wire, 5.0), (scene.rod, 2.0)):
        steps = np.linalg.norm(np.diff(rod.marks_mm, axis=0), axis=1)
        assert steps == pytest.approx(np.full(len(steps), step))
        assert steps.sum() == pytest.approx(rod.length_mm)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ({"kind": "incisor"}, "'incisor' in a simulated scene; single, lower_molar"),
        ({"shown": ("coin",)}, "'coin' in a simulated scene; wire, ball, rod, marker"),
        ({"tilt": 3.0}, "'tilt' in a simulated scene; theta_deg"),
        ({"gap_mm": 40.0}, "a tip 40.0 mm short"),
        ({"gap_mm": -1.0}, "a tip -1.0 mm short"),
        ({"gap_mm": float("nan")}, "a tip nan mm short"),
        ({"length_mm": float("nan")}, "a canal of nan mm"),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_what_cannot_be_a_scene_is_refused(call, words):
    with pytest.raises(PhantomError, match=words):
        random_scene(1, **call)


@pytest.mark.parametrize("seed", [-1, 1.5, True, None], ids=str)
def test_a_seed_is_a_whole_number(seed):
    with pytest.raises(PhantomError, match="a whole number, 0 or more"):
        random_scene(seed)


def test_an_unknown_canal_is_refused_by_name():
    with pytest.raises(PhantomError, match="canal 'MB'; single"):
        random_scene(1).canal("MB")


def test_draw_is_frozen():
    assert dataclasses.is_dataclass(Draw)
    with pytest.raises(dataclasses.FrozenInstanceError, match="gap_mm"):
        MANY[0].gap_mm = 1.0
