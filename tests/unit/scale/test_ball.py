import math

import numpy as np
import pytest

from radlength.errors import MarkError, ScaleError
from radlength.scale.ball import Ellipse, ball_scale, ball_shadow, fit_ellipse

SHADOW = Ellipse((0.0, 0.0), 2.6, 2.55, 90.0)


def outline(ellipse, count=12):
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    angle = math.radians(ellipse.angle_deg)
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    return (
        np.array(ellipse.centre)
        + ellipse.major * np.cos(turn)[:, None] * along
        + ellipse.minor * np.sin(turn)[:, None] * across
    )


@pytest.mark.parametrize("height", [3.0, 8.0, 15.0])
@pytest.mark.parametrize(
    "aside", [(0.0, 0.0), (40.0, 0.0), (30.0, -90.0)], ids=["square", "sideways", "oblique"]
)
def test_height_and_scale_come_back_from_the_exact_shadow(height, aside):
    source = np.array([*aside, 300.0])
    centre = np.array([2.0, -5.0, height])
    scale = ball_scale(ball_shadow(centre, 5.0, source), 5.0, sdd_mm=(300.0, 300.0))
    assert scale.height_mm == pytest.approx(height, abs=1e-6)
    assert scale.mm_per_unit == pytest.approx((300 - height) / 300)
    offset = np.hypot(*(centre - source)[:2])
    assert scale.obliquity_deg == pytest.approx(math.degrees(math.atan2(offset, 300 - height)), abs=1e-4)


def test_the_outline_gives_its_ellipse_back():
    ellipse = Ellipse((120.0, -40.0), 3.0, 2.6, 35.0)
    found = fit_ellipse(outline(ellipse))
    assert found.centre == pytest.approx(ellipse.centre)
    assert (found.major, found.minor, found.angle_deg) == pytest.approx((3.0, 2.6, 35.0))


def test_an_unknown_distance_costs_little():
    known, unknown = (
        ball_scale(SHADOW, 5.0, sdd_mm=span, u_mark_mm=0.0) for span in ((300, 300), (200, 400))
    )
    assert known.u_marks_share == 0.0
    assert 0 < unknown.u_marks_share < 1e-3


def test_looser_marks_and_a_long_shadow_widen():
    assert ball_scale(SHADOW, 5.0, u_mark_mm=0.2).u_share > ball_scale(SHADOW, 5.0).u_share
    long = Ellipse((0.0, 0.0), 3.2, 2.55, 90.0)
    assert ball_scale(long, 5.0, along_deg=90.0).u_share > ball_scale(long, 5.0, along_deg=0.0).u_share


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"diameter_mm": 0.5}, "a ball of 0.5 mm", id="small"),
        pytest.param({"diameter_mm": float("nan")}, "a ball of nan mm", id="nan"),
        pytest.param(
            {"diameter_mm": 8.0}, "a shadow of 5.20 by 5.10 mm for a ball of 8 mm", id="too-small-shadow"
        ),
        pytest.param({"sdd_mm": (400.0, 200.0)}, "a distance of 400.0 to 200.0 mm", id="distance"),
        pytest.param({"u_mark_mm": -1.0}, "marks known to -1.0 mm", id="marks"),
        pytest.param({"ellipse": Ellipse((0, 0), 5.0, 2.6, 0.0)}, "nearly round", id="long"),
    ],
)
def test_an_impossible_ball_is_refused(change, words):
    with pytest.raises(ScaleError, match=words):
        ball_scale(**({"ellipse": SHADOW, "diameter_mm": 5.0} | change))


@pytest.mark.parametrize(
    "points",
    [
        pytest.param([(0, 0), (1, 1)], id="few"),
        pytest.param([(float("nan"), 0)] * 6, id="nan"),
        pytest.param([(k, 2 * k) for k in range(8)], id="line"),
    ],
)
def test_points_that_are_no_outline_are_refused(points):
    with pytest.raises(MarkError, match="round the ball"):
        fit_ellipse(points)


def test_an_impossible_ellipse_is_refused():
    with pytest.raises(MarkError, match="semi-axes 1\\.0 and 2"):
        Ellipse((0.0, 0.0), 1.0, 2.0, 0.0)


def test_a_ball_behind_the_source_has_no_shadow():
    with pytest.raises(ScaleError, match="no ellipse"):
        ball_shadow((0.0, 0.0, 299.0), 5.0, (0.0, 0.0, 300.0))
