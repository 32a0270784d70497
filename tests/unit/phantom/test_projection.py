from __future__ import annotations

import numpy as np
import pytest

from radlength.errors import PhantomError
from radlength.phantom import Camera, View, project, random_scene, second_exposure, shifted_view


def test_the_middle_of_the_tooth_falls_on_the_middle_of_the_image():
    for seed in range(20):
        view = random_scene(seed).view
        assert project((0, 0, 0), view) == pytest.approx(view.origin_px, abs=1e-9)


def test_centre_px_moves_the_image():
    view = View(centre_px=(10.0, 20.0))
    assert project((0, 0, 0), view) == pytest.approx((10, 20))


def test_apical_is_down_and_x_is_right_until_roots_point_up():
    down = project([(0, 5, 0), (5, 0, 0)], View()) - View().origin_px
    up = project([(0, 5, 0), (5, 0, 0)], View(roots_up=True)) - View().origin_px
    assert down[0][0] > 0
    assert down[1][1] > 0
    assert up == pytest.approx(-down)


def test_roll_keeps_distances():
    points = np.random.default_rng(0).uniform(-8, 8, (30, 3))
    apart = lambda view: np.linalg.norm(np.diff(project(points, view), axis=0), axis=1)  # noqa: E731
    assert apart(View(roll_deg=17)) == pytest.approx(apart(View()))


def test_what_lies_nearer_the_tube_moves_against_it():
    """Same lingual, opposite buccal (Clark 1909/10)."""
    view = View()
    shifted = shifted_view(view, 20.0)
    buccal, lingual = project([(0, 0, 3), (0, 0, -3)], shifted) - project([(0, 0, 3), (0, 0, -3)], view)
    assert lingual[1] > 0 > buccal[1]


def test_a_second_exposure_differs_in_everything_but_the_film():
    view = random_scene(3).view
    again = [second_exposure(view, 20.0, np.random.default_rng(seed)) for seed in range(500)]
    shifts = np.array([one.horizontal_deg - view.horizontal_deg for one in again])
    assert shifts.mean() == pytest.approx(20.0, abs=0.3)
    assert shifts.std() == pytest.approx(2.0, rel=0.1)
    for name in ("theta_deg", "phi_deg", "yaw_deg", "roll_deg", "depth_mm", "sdd_mm"):
        assert len({getattr(one, name) for one in again}) > 300
    assert {(one.pitch_mm, one.shape_px) for one in again} == {(view.pitch_mm, view.shape_px)}


def test_axes_are_unit_and_square_and_face_the_tube():
    for seed in range(20):
        camera = Camera.of(random_scene(seed).view)
        axes = np.array([camera.column_axis, camera.row_axis, camera.normal])
        assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)
        assert (camera.source_mm - camera.detector_mm) @ camera.normal > 0


def test_a_pixel_lies_on_the_ray_of_what_it_shows():
    view = random_scene(2).view
    camera = Camera.of(view)
    points = np.random.default_rng(1).uniform(-8, 8, (30, 3))
    pixels = camera.pixel_mm(camera.project(points))
    rays, feet = points - camera.source_mm, pixels - camera.source_mm
    assert np.linalg.norm(np.cross(rays, feet), axis=1) == pytest.approx(np.zeros(30), abs=1e-8)
    assert np.linalg.norm(feet, axis=1) / np.linalg.norm(rays, axis=1) == pytest.approx(
        camera.magnification(points)
    )


@pytest.mark.parametrize(
    "view",
    [
        View(depth_mm=0.0),
        View(depth_mm=400.0),
        View(phi_deg=100.0),
        View(yaw_deg=90.0),
        View(depth_mm=float("nan")),
    ],
    ids=["on the film", "behind the tube", "from below", "edge on", "not a number"],
)
def test_views_that_show_nothing_are_refused(view):
    with pytest.raises(PhantomError, match="a tooth between tube and detector"):
        project((0, 0, 0), view)
