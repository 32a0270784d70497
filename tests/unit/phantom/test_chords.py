from __future__ import annotations

import numpy as np
import pytest

from radlength.phantom import Ball, Camera, View, random_scene
from radlength.phantom.chords import Tube, add_ball, add_tube, straight_tube
from radlength.phantom.tools import instrument_tube, rubber_mm, steel_mm

VIEW = View(depth_mm=10, sdd_mm=300, pitch_mm=0.05, shape_px=(401, 401))
CAMERA = Camera.of(VIEW)


def blank():
    return np.zeros(VIEW.shape_px, np.float32)


def test_the_middle_ray_crosses_a_rod_by_its_diameter():
    image = blank()
    add_tube(image, straight_tube((0, -5, 0), (0, 5, 0), 1.5, 1.5), CAMERA)
    assert image[200, 200] == pytest.approx(3.0, abs=1e-5)


def test_a_rod_along_the_beam_is_crossed_by_its_length():
    image = blank()
    add_tube(image, straight_tube((0, 0, -4), (0, 0, 3), 1.0, 1.0), CAMERA)
    assert image[200, 200] == pytest.approx(7.0, abs=1e-5)


def test_a_cone_along_the_beam_is_crossed_as_far_as_it_is_wide():
    """Rays at 0 and 1 mm from the axis of a cone 5 mm long, 2 mm wide at one end and 0.5 mm at the other."""
    view = View(depth_mm=10, sdd_mm=1e6, pitch_mm=0.1, shape_px=(101, 101))
    image = np.zeros(view.shape_px, np.float32)
    add_tube(image, straight_tube((0, 0, -2), (0, 0, 3), 2.0, 0.5), Camera.of(view))
    assert image[50, 50] == pytest.approx(5.0, abs=1e-4)
    assert image[50, 60] == pytest.approx(5 * (2 - 1) / 1.5, abs=1e-3)
    assert image[50, 71] == 0


def test_a_cone_is_as_wide_as_its_radius_there():
    image = blank()
    add_tube(image, straight_tube((0, -5, 0), (0, 5, 0), 2.0, 1.0), CAMERA)
    assert image[200, 200] == pytest.approx(3.0, rel=2e-3)


def test_cutting_a_tube_in_pieces_changes_nothing():
    whole, pieces = blank(), blank()
    ends = np.array([[1.0, -5, -2], [-2.0, 6, 3]])
    add_tube(whole, straight_tube(*ends, 1.2, 0.6), CAMERA)
    share = np.linspace(0, 1, 23)[:, None]
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    add_tube(
        pieces,
        Tube(ends[0] + share * (ends[1] - ends[0]), np.tile(way, (23, 1)), 1.2 - 0.6 * share[:, 0]),
        CAMERA,
    )
    assert pieces == pytest.approx(whole, abs=2e-5)


def test_volume_of_a_ball_from_its_ray_lengths():
    """Plane shadow of a far ball: sum of chords x pixel area = 4/3 pi r^3."""
    view = View(depth_mm=10, sdd_mm=1e6, pitch_mm=0.02, shape_px=(501, 501))
    image = np.zeros(view.shape_px, np.float32)
    add_ball(image, Ball(np.array([0.3, -0.2, 1.0]), 4.0), Camera.of(view))
    assert image.sum() * 0.02**2 == pytest.approx(4 / 3 * np.pi * 8, rel=2e-4)
    assert image.max() == pytest.approx(4.0, abs=1e-3)


def test_a_stretched_tube_is_longer_along_the_beam_only():
    plain, deep = blank(), blank()
    ends = np.array([[0.0, -5, 0], [0.0, 5, 0]])
    way = np.array([[0.0, 1, 0]] * 2)
    add_tube(plain, Tube(ends, way, np.array([1.0, 1.0])), CAMERA)
    add_tube(deep, Tube(ends, way, np.array([1.0, 1.0]), stretch=1.7), CAMERA)
    assert deep[200, 200] == pytest.approx(1.7 * plain[200, 200], rel=1e-4)
    assert abs(int((deep[200] > 0).sum()) - int((plain[200] > 0).sum())) <= 2


def test_what_lies_off_the_image_adds_nothing():
    image = blank()
    add_tube(image, straight_tube((50, -5, 0), (50, 5, 0), 1, 1), CAMERA)
    add_ball(image, Ball(np.array([60.0, 0, 0])), CAMERA)
    assert not image.any()


def test_the_instrument_ends_at_its_tip():
    scene = random_scene(3)
    tool = scene.instruments[0]
    tube = instrument_tube(tool, scene.canal())
    assert tube.centres_mm[-1] == pytest.approx(scene.canal().at(tool.stop_to_tip_mm)[0])
    assert 2 * tube.radii_mm[0] == pytest.approx(tool.tip_mm + 16 * tool.taper)


def test_references_shown_are_drawn():
    size = (700, 520)
    sums = {}
    for shown in ((), ("wire",), ("rod",), ("ball",), ("marker",)):
        scene = random_scene(3, shown=shown, instruments=0, pitch_mm=0.05, shape_px=size)
        sums[shown] = float(steel_mm(scene, Camera.of(scene.view), size).sum())
    assert sums[()] == 0
    assert all(sums[shown] > 0 for shown in sums if shown)
    assert sums[("marker",)] > sums[("wire",)] + sums[("ball",)]


def test_the_stop_lies_above_the_reference_point():
    scene = random_scene(
        3, pitch_mm=0.05, shape_px=(700, 520), inclination_deg=0.0, phi_deg=0.0, theta_deg=0.0
    )
    camera = Camera.of(scene.view)
    rows = np.nonzero(rubber_mm(scene, camera, (700, 520)).sum(axis=1))[0]
    stop = camera.project(scene.canal().points_mm[:1])[0, 0]
    assert rows.max() == pytest.approx(stop, abs=3)
