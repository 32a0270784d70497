from __future__ import annotations

import numpy as np
import pytest

from radlength.phantom import KINDS, Camera, project, random_scene, shifted_view, simulate_marks
from radlength.phantom.detector import Detector
from radlength.phantom.landmarks import BONE_MM, CHEEK_MM, bone_landmarks, moved
from radlength.phantom.materials import DENTINE, ENAMEL, SOFT, STEEL
from radlength.phantom.render import material_paths, render

SMALL = {"pitch_mm": 0.05, "shape_px": (700, 520)}


@pytest.fixture(scope="module")
def straight():
    return random_scene(
        21,
        kind="single",
        theta_deg=0.0,
        phi_error_deg=0.0,
        horizontal_deg=0.0,
        yaw_deg=0.0,
        bend_deg=20.0,
        azimuth_deg=0.0,
        gap_mm=3.0,
        shown=(),
        **SMALL,
    )


@pytest.fixture(scope="module")
def paths(straight):
    return material_paths(straight, Camera.of(straight.view), straight.view.shape_px)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_makes_a_whole_picture(kind):
    image = render(random_scene(6, kind=kind, shown=("wire", "ball", "rod", "marker"), **SMALL)).pixels
    assert image.shape == (700, 520)
    assert image.dtype == np.uint8
    low, middle, high = np.percentile(image, [2, 50, 99])
    assert low < 30
    assert 80 < middle < 170
    assert high > 200


def test_the_same_scene_gives_the_same_pixels(straight):
    assert np.array_equal(render(straight).pixels, render(straight).pixels)


def test_no_ray_runs_less_than_nothing(paths):
    assert all(float(path.min()) >= 0 for path in paths.values())


@pytest.mark.parametrize("more", [(1, 0), (0, 1), (1, 1)])
def test_a_tooth_stays_where_it_is_on_an_image_of_odd_size(straight, paths, more):
    """Teeth are made at every second pixel: one row or column more of the same exposure stretches none of them."""
    odd = material_paths(straight, Camera.of(straight.view), (700 + more[0], 520 + more[1]))
    for material in (ENAMEL, DENTINE):
        assert np.abs(odd[material][:690, :510] - paths[material][:690, :510]).max() < 0.01


def test_steel_ends_at_the_marked_tip(straight, paths):
    tip = simulate_marks(straight).instruments["single"][-1]
    rows = np.nonzero(paths[STEEL].sum(axis=1))[0]
    assert rows.max() == pytest.approx(tip[0], abs=1.5)


def test_dentine_ends_near_the_foramen(straight, paths):
    """The root is rounded beside the foramen, and seen through no more than a few tenths of a millimetre past it."""
    apex = simulate_marks(straight).canals["single"][-1]
    column = paths[DENTINE][:, round(apex[1]) - 8 : round(apex[1]) + 9].max(axis=1)
    last = np.nonzero(column > 0.2)[0].max()
    assert (last - apex[0]) * 0.05 == pytest.approx(0.0, abs=0.5)


def test_the_canal_shows_past_the_tip(straight, paths):
    canal = straight.canal()
    inside = project(canal.at(canal.length_mm - 1.5), straight.view)[0]
    at = lambda across: float(paths[DENTINE][round(inside[0]), round(inside[1]) + across])  # noqa: E731
    assert at(0) < (at(-7) + at(7)) / 2 - 0.2
    assert paths[STEEL][round(inside[0]), round(inside[1])] == 0


def test_enamel_covers_the_crown_and_not_the_root(straight, paths):
    neck = project(straight.canal().at(9.5), straight.view)[0][0]
    below = paths[ENAMEL][round(neck) :, 200:320]
    above = paths[ENAMEL][: round(neck), 200:320]
    assert above.max() > 2.0
    assert below.sum() < 0.02 * above.sum()


def test_another_view_shows_the_same_teeth_elsewhere(straight):
    still = Detector(quanta=0, scatter=0)
    first, again = render(straight, None, still), render(straight, straight.view, still)
    second = render(straight, shifted_view(straight.view, 20.0), still)
    assert np.array_equal(first.pixels, again.pixels)
    assert np.mean(np.abs(first.exposure - second.exposure)) > 0.005
    thick = [material_paths(straight, Camera.of(r.view), (700, 520)) for r in (first, second)]
    totals = [float(t[DENTINE].sum() + t[ENAMEL].sum()) for t in thick]
    assert totals[1] == pytest.approx(totals[0], rel=0.08)


def test_soft_tissue_is_never_flat(paths):
    top = paths[SOFT][:60, ::40]
    assert top.std() > 0.05
    assert top.min() > 2


def test_cubic_enlarging_keeps_places():
    """A scene at half the pitch shows the same things at twice the pixels: no shift from working at half size."""
    places = []
    for pitch, shape in ((0.05, (700, 520)), (0.1, (350, 260))):
        scene = random_scene(21, instruments=0, shown=(), pitch_mm=pitch, shape_px=shape)
        dentine = material_paths(scene, Camera.of(scene.view), shape)[DENTINE]
        rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]]
        middle = np.array([(rows * dentine).sum(), (columns * dentine).sum()]) / dentine.sum()
        places.append((middle - scene.view.origin_px) * pitch)
    assert places[0] == pytest.approx(places[1], abs=0.01)


def test_cheek_and_cheek_bone_move_against_the_tube_more_than_what_lies_about_the_roots():
    """Same lingual, opposite buccal (Clark 1910): what is nearer to the tube moves the other way."""
    scene = random_scene(6, kind="upper_molar", horizontal_deg=0.0, yaw_deg=0.0, roll_deg=0.0, **SMALL)
    camera = Camera.of(shifted_view(scene.view, 20.0))
    points = (CHEEK_MM, BONE_MM)
    near, far = (camera.project(np.array(p)) - Camera.of(scene.view).project(np.array(p)) for p in points)
    tube = 1 if camera.column_axis[0] > 0 else -1
    assert (near[1] - far[1]) * tube * SMALL["pitch_mm"] == pytest.approx(-15 * np.tan(np.radians(20)), abs=1)


@pytest.mark.parametrize("roots_up", [True, False])
def test_the_canal_of_the_lower_nerve_lies_in_the_lower_jaw(roots_up):
    share, more, _ = bone_landmarks("single", (175, 130), np.random.default_rng(1), roots_up=roots_up)
    assert (share.min() < 0.8, more.max() > 0.2) == (not roots_up, not roots_up)


def test_a_shadow_is_moved_by_whole_and_part_pixels_and_its_border_drawn_out():
    image = np.tile(np.arange(20, dtype=np.float32), (10, 1))
    assert moved(image, np.zeros(2)) is image
    by = moved(image, np.array([0.0, 2.5]))
    assert np.allclose(by[:, 5:], image[:, 5:] - 2.5, atol=0.02)
    assert np.allclose(by[:, :2], 0)
