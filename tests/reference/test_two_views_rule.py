"""Outside checks of two views: the tube-shift rule and table, projection, and published libraries."""

import numpy as np
import pytest
from helpers.two_view_scenes import PLANTED, marking, pair

from radlength.phantom import Camera
from radlength.scale.ball import ball_shadow, fit_ellipse
from radlength.scale.combine import ScaleEstimate, combine_scales
from radlength.scale.two_view_geometry import project, rotation
from radlength.scale.two_view_side import separation_mm, side_by_rule
from radlength.scale.two_views import solve_two_views


@pytest.mark.parametrize(
    ("shift_deg", "apart_mm"),
    [(10, 0.529), (15, 0.804), (20, 1.092), (25, 1.399), (30, 1.732)],
)
def test_the_tube_shift_table(shift_deg, apart_mm):
    """Separation of two things 3 mm apart in depth: dx = dz tan(shift), worked by hand."""
    assert separation_mm(3.0, shift_deg) == pytest.approx(apart_mm, abs=5e-4)


@pytest.mark.parametrize("shift_deg", [10.0, 20.0, 30.0])
def test_the_table_by_the_projection(shift_deg):
    """The same through a very distant source: parallel beam."""
    far = 1e6
    turn = np.radians(shift_deg)
    source = far * np.array([[np.sin(turn), 0.0, np.cos(turn)]])
    images = [project(np.array([[0.0, 0.0, z]]), source)[0][0, 0] for z in (5.0, 8.0)]
    assert abs(images[1] - images[0]) == pytest.approx(separation_mm(3.0, shift_deg), abs=1e-3)
    assert side_by_rule(images[1] - images[0], 1.0) == "buccal"


@pytest.mark.parametrize("side", [1, -1], ids=["right", "left"])
@pytest.mark.parametrize("seed", [745001, 745002, 745003, 745004])
def test_same_lingual_opposite_buccal(seed, side):
    """Clark 1910, Richards 1953 and 1980: the rule on raw marks agrees with the solved depth."""
    _, marks = pair(seed, sds=PLANTED, side=side, reference_depth_mm=-3.5 if seed % 2 else 3.5)
    canal = solve_two_views(marks, marking=marking(PLANTED), reference_mm=0.01).canals[0]
    moved = [
        np.array(view.canals["single"])[4:, 1].mean() - np.array(view.marker_px)[:, 1].mean()
        for view in (marks.straight, marks.shifted)
    ]
    rule = side_by_rule(moved[1] - moved[0], marks.sign)
    assert canal.side in (rule, "undecided")
    if abs(moved[1] - moved[0]) * 0.025 > 0.7:
        assert canal.side == rule


def test_projection_against_opencv():
    """OpenCV projectPoints, pinhole model: the detector is the image plane, the source the camera's centre."""
    cv2 = pytest.importorskip("cv2")
    rng = np.random.default_rng(3)
    points = rng.uniform(-10, 10, (50, 3)) + np.array([0, 0, 12])
    turn = np.array([0.1, -0.05, 0.2])
    source = np.array([30.0, -20.0, 310.0])
    matrix = rotation(turn)[0]
    ours = project(points @ matrix.T, np.tile(source, (50, 1)))[0]
    flip = np.diag([1.0, 1.0, -1.0])
    camera = np.array([[310.0, 0, source[0]], [0, 310.0, source[1]], [0, 0, 1]])
    placed = (points @ matrix.T - source) @ flip
    theirs = cv2.projectPoints(placed, np.zeros(3), np.zeros(3), camera, None)[0].reshape(-1, 2)
    np.testing.assert_allclose(ours, theirs, atol=1e-6)
    np.testing.assert_allclose(matrix, cv2.Rodrigues(turn)[0], atol=1e-12)


def test_the_two_projections_of_the_house_agree():
    """The phantom's projection shares no code with the solver's."""
    scene, _ = pair(745010)
    camera = Camera.of(scene.view)
    axes = np.vstack([camera.column_axis, camera.row_axis, camera.normal])
    points = scene.canals[0].points_mm
    here = (points - camera.detector_mm) @ axes.T
    source = (camera.source_mm - camera.detector_mm) @ axes.T
    ours = project(here, np.tile(source, (len(here), 1)))[0][:, ::-1] / scene.view.pitch_mm
    np.testing.assert_allclose(ours + scene.view.origin_px, camera.project(points), atol=1e-6)


@pytest.mark.parametrize(
    "aside", [(0.0, 0.0), (60.0, 20.0), (-30.0, 110.0)], ids=["square", "slant", "steep"]
)
def test_sphere_shadow_against_tangent_rays_and_opencv(aside):
    """The exact conic against rays that touch the sphere, and OpenCV's ellipse through them."""
    cv2 = pytest.importorskip("cv2")
    centre, source, radius = np.array([1.0, -2.0, 9.0]), np.array([*aside, 290.0]), 2.5
    way = centre - source
    distance = np.linalg.norm(way)
    axis = way / distance
    across = np.cross(axis, [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    up = np.cross(axis, across)
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)[:, None]
    touch = (
        centre
        - axis * radius**2 / distance
        + radius * np.sqrt(1 - (radius / distance) ** 2) * (np.cos(turn) * across + np.sin(turn) * up)
    )
    rim = project(touch, np.tile(source, (60, 1)))[0]
    exact = ball_shadow(centre, 2 * radius, source)
    fitted = fit_ellipse(rim)
    (x, y), axes, _ = cv2.fitEllipseDirect(rim.astype(np.float32))
    for other in (fitted.centre, (x, y)):
        assert exact.centre == pytest.approx(other, abs=1e-4)
    assert (exact.major, exact.minor) == pytest.approx((fitted.major, fitted.minor), abs=1e-7)
    assert (2 * exact.major, 2 * exact.minor) == pytest.approx((max(axes), min(axes)), abs=1e-3)
    if np.hypot(*aside) > 1:
        assert np.hypot(*(np.array(exact.centre) - project(centre[None], source[None])[0][0])) > 1e-3


VALUES, SHARES = (0.950, 0.955, 0.962), (0.010, 0.005, 0.030)


def _ours():
    names = ("wire", "instrument", "ball")
    return combine_scales([ScaleEstimate(*one) for one in zip(names, VALUES, SHARES, strict=True)])


def test_weighted_mean_against_uncertainties():
    """The package uncertainties propagates the same weighted mean."""
    uncertainties = pytest.importorskip("uncertainties")
    level = sum(VALUES) / 3
    parts = [uncertainties.ufloat(v, s * level) for v, s in zip(VALUES, SHARES, strict=True)]
    weights = [1 / part.s**2 for part in parts]
    mean = sum(w * part for w, part in zip(weights, parts, strict=True)) / sum(weights)
    ours = _ours()
    assert ours.mm_per_unit == pytest.approx(mean.n, rel=1e-12)
    assert ours.u_share * ours.mm_per_unit == pytest.approx(mean.s, rel=1e-9)


def test_weighted_mean_against_gtc():
    """GTC's weighted least squares line of slope free is not needed: its propagation of the same mean is."""
    gtc = pytest.importorskip("GTC")
    level = sum(VALUES) / 3
    parts = [gtc.ureal(v, s * level) for v, s in zip(VALUES, SHARES, strict=True)]
    weights = [1 / part.u**2 for part in parts]
    mean = sum(w * part for w, part in zip(weights, parts, strict=True)) / sum(weights)
    ours = _ours()
    assert ours.mm_per_unit == pytest.approx(mean.x, rel=1e-12)
    assert ours.u_share * ours.mm_per_unit == pytest.approx(mean.u, rel=1e-9)


def test_consistency_test_against_scipy():
    """Upper tail of the chi-square distribution, scipy.stats."""
    from scipy.stats import chi2

    ours = _ours()
    assert ours.probability == pytest.approx(chi2.sf(ours.chi_square, ours.freedom), rel=1e-9)
