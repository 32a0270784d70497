import numpy as np
import pytest

from radlength.errors import ScaleError
from radlength.imaging import Radiograph
from radlength.scale import Frame, Reference, header_scale, reference_scale
from radlength.trade import magnification_prior


def image(**facts):
    return Radiograph.from_array(np.zeros((1200, 900), np.uint16), name="tooth.tif", **facts)


def reference(**change):
    fields = {"path_px": [(0, 0), (1000, 0)], "length_mm": 20.0, "limit_mm": 0.25, "canal": "MB"} | change
    return Reference(**fields)


def test_pixels_are_square_where_nothing_is_known():
    assert Frame.of(None) == Frame(1.0, 1.0, "px")
    assert Frame.of(image(meaning="none")) == Frame(1.0, 1.0, "px")


def test_rows_and_columns_have_their_own_size():
    frame = Frame.of(image(row_mm=0.02, column_mm=0.03))
    np.testing.assert_allclose(frame.to_units([(0, 0), (100, 100)])[1], [2.0, 3.0])


def test_the_ratio_is_real_length_over_image_length():
    assert reference_scale(reference(), Frame(), canal_name="MB").mm_per_unit == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("change", "canal", "method"),
    [
        pytest.param({}, "MB", "in_canal", id="own-canal"),
        pytest.param({"canal": None}, "MB", "in_canal", id="canal-not-said"),
        pytest.param({}, "ML", "borrowed", id="another-canal"),
        pytest.param({"placement": "beside"}, "ML", "beside", id="beside"),
    ],
)
def test_the_method_follows_where_the_reference_lies(change, canal, method):
    assert reference_scale(reference(**change), Frame(), canal_name=canal).method == method


def test_without_any_scale_there_are_no_millimetres():
    for radiograph in (None, image(meaning="none")):
        with pytest.raises(ScaleError, match="no scale: lengths in pixels only"):
            header_scale(radiograph)


def test_a_pitch_at_the_detector_is_divided_by_the_magnification_prior():
    prior = magnification_prior()
    scale = header_scale(image(row_mm=0.02, column_mm=0.02, meaning="detector"))
    assert 1 / scale.mm_per_unit == pytest.approx((prior.low + prior.high) / 2)
    reach = scale.mm_per_unit * (1 + np.array([-1, 1]) * scale.limit_share)
    assert reach[0] <= 1 / prior.high
    assert reach[1] == pytest.approx(1 / prior.low, rel=0.01)


def test_a_spacing_of_unknown_meaning_is_less_sure():
    shares = [
        header_scale(image(row_mm=0.02, column_mm=0.02, meaning=meaning)).limit_share
        for meaning in ("fiducial", "geometry", "detector", "undetermined")
    ]
    assert shares[0] == min(shares)
    assert shares[3] == max(shares)
