"""How well a scale is known, against draws of its marks."""

import math

import numpy as np
import pytest
from helpers.shapes import bent_canal

from radlength.geometry.batch import curve_lengths
from radlength.imaging import Radiograph
from radlength.scale import Frame, Reference, image_scale, reference_scale
from radlength.scale.certainty import geometry_share, marks_share, scale_share
from radlength.uncertainty import Marking
from radlength.uncertainty.geometry import header_arms

MARKING = Marking(apex_mm=0.3, stop_mm=0.12, tip_mm=0.2, path_mm=0.1)


def bent(count, **fields):
    path = bent_canal(20.0, 30.0, count=count) * 42
    return Reference(path, 20.0, **({"limit_mm": 0.0, "placement": "in_canal"} | fields))


@pytest.mark.parametrize("placement", ["in_canal", "beside"])
@pytest.mark.parametrize("count", [2, 3, 5, 8])
def test_the_marks_share_is_the_scatter_of_jittered_references(count, placement):
    scale = reference_scale(bent(count, placement=placement), Frame(), canal_name="MB")
    sd = np.full(count, MARKING.path_mm)
    sd[0], sd[-1] = (MARKING.stop_mm if placement == "in_canal" else MARKING.tip_mm), MARKING.tip_mm
    jitter = np.random.default_rng(1).standard_normal((20_000, count, 2)) * sd[:, None]
    lengths = curve_lengths(scale.curve.clicks + jitter / scale.mm_per_unit, scale.curve.degree)
    assert marks_share(scale, MARKING) == pytest.approx(np.std(lengths) / np.mean(lengths), rel=0.06)


def test_two_clicks_add_both_ends():
    scale = reference_scale(bent(2), Frame(), canal_name="MB")
    assert marks_share(scale, MARKING) == pytest.approx(math.hypot(0.12, 0.2) / 20.0)


def test_a_pixel_is_never_surer_than_the_marks_that_tell_it():
    surest = image_scale(bent(2), None, canal_name="MB", marking=Marking(0, 0, 0, 0))[1]
    assert surest == pytest.approx(geometry_share(reference_scale(bent(2), Frame(), canal_name="MB")))
    assert image_scale(bent(2), None, canal_name="MB", marking=MARKING)[1] > surest > 0


def test_a_pixel_is_less_sure_beside_the_tooth_and_from_the_header():
    image = Radiograph.from_array(np.zeros((9, 9), np.uint8), row_mm=0.02, column_mm=0.02)
    shares = [
        image_scale(one, image, canal_name="MB")[1]
        for one in (bent(8), bent(8, placement="beside"), bent(8, canal="DB"), None)
    ]
    assert shares == sorted(shares)
    assert shares[1] > 2 * shares[0]
    assert shares[-1] > header_arms(1.0).high_mm / 1.96 / math.sqrt(2)


@pytest.mark.parametrize("limit", [0.0, 0.1, 0.5])
def test_all_causes_add_in_quadrature(limit):
    scale = reference_scale(bent(6, limit_mm=limit), Frame(), canal_name="MB")
    parts = (limit / 20 / math.sqrt(3), marks_share(scale, MARKING), geometry_share(scale))
    assert scale_share(scale, MARKING) == pytest.approx(math.hypot(*parts))
