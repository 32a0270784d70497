"""Millimetres for one pixel, down and across, by hand; what a ball on the axis tells; and an outline that is none."""

import numpy as np
import pytest

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.scale import Reference, image_scale
from radlength.scale.ball import ball_scale, ball_shadow, fit_ellipse


def test_a_pixel_that_is_not_square_has_two_sizes_in_the_tooth():
    """1000 pixels of 0.02 mm are 20 mm on the detector; a wire of 16 mm makes that 0.8: 0.016 down, 0.024 across."""
    image = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.02, column_mm=0.03)
    wire = Reference([(0.0, 5.0), (1000.0, 5.0)], 16.0, 0.1, "beside")
    (down, across), share = image_scale(wire, image, canal_name="MB")
    assert (down, across) == pytest.approx((0.016, 0.024))
    assert 0.0 < share < 0.2


def test_a_wire_across_gives_the_same_pixel():
    """800 pixels of 0.03 mm across are 24 mm; 19.2 mm of wire make that 0.8 too."""
    image = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.02, column_mm=0.03)
    wire = Reference([(5.0, 0.0), (5.0, 800.0)], 19.2, 0.1, "beside")
    assert image_scale(wire, image, canal_name="MB")[0] == pytest.approx((0.016, 0.024))


@pytest.mark.parametrize(
    "outline",
    [
        np.zeros((5, 2)),
        np.ones((8, 3)),
        np.arange(12.0),
        np.column_stack([np.arange(8.0), np.full(8, np.nan)]),
    ],
    ids=["five", "in space", "no pairs", "no numbers"],
)
def test_an_outline_of_another_shape_is_refused_in_words(outline):
    with pytest.raises(MarkError, match="an outline of shape"):
        fit_ellipse(outline)


@pytest.mark.parametrize("turn", [0.0, 30.0, 45.0, 120.0])
def test_a_long_ellipse_turned_anywhere_comes_back(turn):
    """Five times as long as wide: points made by hand of centre, axes and angle."""
    t, angle = np.linspace(0, 2 * np.pi, 25)[:-1], np.radians(turn)
    turned = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    found = fit_ellipse(np.column_stack([5 * np.cos(t), np.sin(t)]) @ turned.T + (7.0, -3.0))
    assert found.centre == pytest.approx((7.0, -3.0))
    assert (found.major, found.minor) == pytest.approx((5.0, 1.0))
    assert np.sin(np.radians(found.angle_deg - turn)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("height", [2.0, 10.0, 25.0])
def test_a_ball_on_the_axis_tells_the_similar_triangles_of_its_centre(height):
    """Seen from 300 mm a plane at height h is shown 300 / (300 - h) times as large, whatever range lies about 300."""
    shadow = ball_shadow((0.0, 0.0, height), 5.0, (0.0, 0.0, 300.0))
    found = ball_scale(shadow, 5.0, sdd_mm=(200.0, 400.0))
    assert found.mm_per_unit == pytest.approx((300.0 - height) / 300.0, rel=1e-9)
    assert found.height_mm == pytest.approx(height, abs=1e-6)
    assert found.obliquity_deg == pytest.approx(0.0, abs=1e-4)
