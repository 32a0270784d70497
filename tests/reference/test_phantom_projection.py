"""The phantom's projection against OpenCV, the conic of a sphere, and tables of radiographic geometry."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from radlength.phantom import Camera, View, project, random_scene, simulate_marks, unsharpness_mm
from radlength.phantom.marks import outline_mm

FAR = {"sdd_mm": 1e7, "pitch_mm": 1.0, "shape_px": (2001, 2001)}


def turn(axis: int, angle: float) -> np.ndarray:
    """Return the rotation about a coordinate axis, by Rodrigues' formula as OpenCV has it."""
    return cv2.Rodrigues(np.eye(3)[axis] * angle)[0]


def pinhole(view: View) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return intrinsics, rotation and translation of a mirrored pinhole camera, from a view's plain angles."""
    theta, phi, side, yaw = (
        math.radians(v) for v in (view.theta_deg, view.phi_deg, view.horizontal_deg, view.yaw_deg)
    )
    roll = math.radians(view.roll_deg)
    detector = turn(1, yaw) @ turn(0, -theta) @ turn(2, roll)
    toward = turn(1, side) @ turn(0, -phi) @ np.array([0.0, 0.0, 1.0])
    columns, rows, normal = detector.T
    behind = view.depth_mm / float(toward @ normal)
    source, centre = toward * (view.sdd_mm - behind), -toward * behind
    reach = float((source - centre) @ normal)
    foot = source - reach * normal - centre
    row0, column0 = view.origin_px
    focal = reach / view.pitch_mm
    principal = (-(column0 + foot @ columns / view.pitch_mm), row0 + foot @ rows / view.pitch_mm)
    matrix = np.array([[focal, 0, principal[0]], [0, focal, principal[1]], [0, 0, 1]])
    rotation = np.array([-columns, rows, -normal])
    return matrix, rotation, -rotation @ source


@pytest.mark.parametrize("seed", range(6))
def test_points_fall_where_opencv_puts_them(seed):
    """OpenCV, `projectPoints`: a pinhole camera without distortion, columns mirrored."""
    view = random_scene(seed).view
    points = np.random.default_rng(seed).uniform(-15, 15, (200, 3)) * (1, 1, 0.3)
    matrix, rotation, shift = pinhole(view)
    theirs = cv2.projectPoints(points, cv2.Rodrigues(rotation)[0], shift, matrix, None)[0][:, 0]
    assert project(points, view) == pytest.approx(np.column_stack([theirs[:, 1], -theirs[:, 0]]), abs=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_the_shadow_of_a_ball_is_its_conic(seed):
    """Hartley & Zisserman, Multiple View Geometry (2003), 8.3: C* = P Q* P^T, the dual conic of a quadric."""
    scene = random_scene(seed)
    matrix, rotation, shift = pinhole(scene.view)
    camera = matrix @ np.column_stack([rotation, shift])
    centre, radius = scene.ball.centre_mm, scene.ball.diameter_mm / 2
    quadric = np.eye(4)
    quadric[:3, :3], quadric[:3, 3], quadric[3, :3] = np.eye(3), -centre, -centre
    quadric[3, 3] = centre @ centre - radius**2
    conic = np.linalg.inv(camera @ np.linalg.inv(quadric) @ camera.T)
    source = Camera.of(scene.view).source_mm
    outline = project(outline_mm(scene.ball, source, 2000), scene.view)
    points = np.column_stack([-outline[:, 1], outline[:, 0], np.ones(2000)])
    value = np.einsum("ij,jk,ik->i", points, conic, points)
    slope = 2 * np.linalg.norm((points @ conic)[:, :2], axis=1)
    assert np.abs(value / slope).max() < 1e-5
    assert (
        np.ptp(outline, axis=0).min() > 2 * radius / scene.view.pitch_mm
    )  # a shadow is larger than its ball


@pytest.mark.parametrize(
    ("half_deg", "error_deg", "expected"),
    [
        (15, -10, 1.0992), (15, -5, 1.0480), (15, 5, 0.9542), (15, 10, 0.9098),
        (20, -10, 1.1372), (20, -5, 1.0658), (20, 5, 0.9383), (20, 10, 0.8794),
        (10, -10, 1.0642), (10, -5, 1.0313), (10, 5, 0.9696), (10, 10, 0.9397),
        (10, 0, 1.0), (15, 0, 1.0), (20, 0, 1.0),
    ],
)  # fmt: skip
def test_bisecting_rule(half_deg, error_deg, expected):
    """Cieszynski's rule of isometry, worked out for a vertical error d and half-angle b: cos(b+d) / cos(b-d)."""
    view = View(theta_deg=2 * half_deg, phi_deg=half_deg + error_deg, depth_mm=10, **FAR)
    ends = project([(0, -10, 0), (0, 10, 0)], view)
    assert float(np.linalg.norm(ends[1] - ends[0])) / 20 == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("tilt_deg", "expected_mm"),
    [(5, 21.916), (10, 21.666), (15, 21.250), (20, 20.673), (25, 19.939), (30, 19.053)],
)
def test_a_tilted_canal_shortens_by_its_cosine(tilt_deg, expected_mm):
    """Plane geometry: 22 mm x cos(tilt), parallel beam."""
    scene = random_scene(
        1,
        length_mm=22.0,
        bend_deg=0.0,
        s_bend_deg=0.0,
        inclination_deg=float(tilt_deg),
        lean_deg=0.0,
        gap_mm=2.0,
    )
    marks = simulate_marks(scene, View(depth_mm=12, **FAR))
    canal, tool = marks.canals["single"], marks.instruments["single"]
    shown = float(np.linalg.norm(canal[-1] - canal[0]))
    assert shown == pytest.approx(expected_mm, abs=6e-4)
    assert 20.0 * shown / float(np.linalg.norm(tool[-1] - tool[0])) == pytest.approx(22.0, abs=1e-5)


@pytest.mark.parametrize(
    ("shift_deg", "expected_mm"), [(10, 0.529), (15, 0.804), (20, 1.092), (25, 1.399), (30, 1.732)]
)
def test_tube_shift_separates_by_the_tangent(shift_deg, expected_mm):
    """Clark (1909/10), same lingual, opposite buccal; plane geometry: 3 mm x tan(shift)."""
    buccal, lingual = [(0, 0, 1.5)], [(0, 0, -1.5)]
    view = View(horizontal_deg=shift_deg, depth_mm=10, **FAR)
    apart = project(lingual, view)[0] - project(buccal, view)[0]
    assert apart[0] == pytest.approx(0.0, abs=1e-6)
    assert apart[1] == pytest.approx(expected_mm, abs=6e-4)


@pytest.mark.parametrize(
    ("sid_mm", "oid_mm", "expected"),
    [
        (203.2, 5, 1.0252), (203.2, 10, 1.0518), (203.2, 20, 1.1092), (203.2, 25, 1.1403),
        (304.8, 5, 1.0167), (304.8, 10, 1.0339), (304.8, 20, 1.0702), (304.8, 25, 1.0893),
        (406.4, 5, 1.0125), (406.4, 10, 1.0252), (406.4, 20, 1.0518), (406.4, 25, 1.0655),
    ],
)  # fmt: skip
def test_magnification(sid_mm, oid_mm, expected):
    """Radiography texts: M = SID / SOD, worked out for cones of 8, 12 and 16 inches."""
    view = View(depth_mm=oid_mm, sdd_mm=sid_mm, pitch_mm=0.01, shape_px=(4001, 4001))
    ends = project([(-5, 0, 0), (5, 0, 0)], view)
    assert float(np.linalg.norm(ends[1] - ends[0])) * 0.01 / 10 == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("focal_mm", "sid_mm", "expected_mm"),
    [(0.4, 406.4, 0.0207), (0.7, 406.4, 0.0362), (0.4, 203.2, 0.0437), (0.7, 203.2, 0.0764)],
)
def test_unsharpness_is_the_width_of_a_penumbra(focal_mm, sid_mm, expected_mm):
    """Radiography texts: Ug = F x OID / SOD at OID 20 mm; and the same from two rays past one edge."""
    assert unsharpness_mm(focal_mm, 20.0, sid_mm - 20.0) == pytest.approx(expected_mm, abs=5e-5)
    camera = Camera.of(View(depth_mm=20.0, sdd_mm=sid_mm))
    edge = np.zeros(3)
    ends = []
    for side in (-1, 1):
        source = camera.source_mm + side * focal_mm / 2 * camera.column_axis
        ray = edge - source
        reach = ((camera.detector_mm - source) @ camera.normal) / (ray @ camera.normal)
        ends.append(source + reach * ray)
    assert float(np.linalg.norm(ends[1] - ends[0])) == pytest.approx(expected_mm, abs=5e-5)
