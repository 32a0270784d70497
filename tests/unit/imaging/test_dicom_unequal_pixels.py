"""Pixels that a header calls longer than wide: said, and not believed where no radiograph has them."""

import pytest
from pydicom.dataset import Dataset

from radlength.imaging.dicom_spacing import header_scale


def header(**attributes):
    ds = Dataset()
    for keyword, value in attributes.items():
        setattr(ds, keyword, value)
    return header_scale(ds)


@pytest.mark.parametrize(
    "attributes",
    [
        {"ImagerPixelSpacing": [0.025, 25.0]},
        {"PixelSpacing": [40.0, 0.02]},
        {"ImagerPixelSpacing": [0.006, 0.19]},
        {"PixelAspectRatio": [1, 1000]},
    ],
    ids=["imager", "patient", "both possible", "aspect ratio"],
)
def test_a_slip_of_the_point_stretches_no_image(attributes):
    scale, findings = header(**attributes)
    assert (scale.meaning, scale.row_mm, scale.column_mm) == ("none", None, None)
    assert "they are taken as square" in findings[0].sentence


@pytest.mark.parametrize(
    ("attributes", "sides"),
    [
        ({"ImagerPixelSpacing": [0.02, 0.03]}, (0.02, 0.03)),
        ({"PixelAspectRatio": [2, 1]}, (2.0, 1.0)),
    ],
    ids=["spacing", "aspect ratio"],
)
def test_unequal_sides_are_followed_and_said(attributes, sides):
    scale, findings = header(**attributes)
    assert (scale.row_mm, scale.column_mm) == sides
    assert [(one.code, one.severity) for one in findings] == [("pixels-unequal", "question")]


def test_equal_sides_need_no_word():
    assert header(ImagerPixelSpacing=[0.02, 0.02])[1] == []
    assert header(PixelAspectRatio=[1, 1])[1] == []
