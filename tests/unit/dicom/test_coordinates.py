from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.dicom.coordinates import from_dicom, to_dicom
from radlength.dicom.errors import DicomError

MOST = 8191


@given(
    st.lists(
        st.tuples(st.integers(-500, MOST * 1000), st.integers(-500, MOST * 1000)), min_size=2, max_size=9
    )
)
def test_points_to_a_thousandth_of_a_pixel_come_back_through_single_precision(thousandths):
    path = tuple((row / 1000, column / 1000) for row, column in thousandths)
    there = to_dicom(path, (MOST + 1, MOST + 1))
    assert there.dtype == np.float32
    assert from_dicom(there.ravel()) == path


def test_the_centre_of_the_first_pixel_is_half_a_pixel_from_its_corner():
    """PS3.3 C.18.6.1.1 and C.10.5: 0\\0 is the corner, so that the centre is 0.5\\0.5; columns come first."""
    assert to_dicom([(0, 0), (2, 3)], (3, 4)).tolist() == [[0.5, 0.5], [3.5, 2.5]]
    assert to_dicom([(-0.5, -0.5), (2.5, 3.5)], (3, 4)).tolist() == [[0, 0], [4, 3]]


@pytest.mark.parametrize(
    "path",
    [[(0, 0), (2.51, 0)], [(0, 0), (0, 3.51)], [(-0.51, 0), (0, 0)], [(0, -0.51), (0, 0)]],
    ids=["below", "right", "above", "left"],
)
def test_a_point_outside_is_refused(path):
    with pytest.raises(DicomError, match=r"a path leaves the image \(3 x 4\)"):
        to_dicom(path, (3, 4))


@pytest.mark.parametrize("path", [[(0, 0)], [(0, 0), (np.nan, 1)], []], ids=["one", "nan", "none"])
def test_what_is_no_path_is_refused(path):
    with pytest.raises(DicomError, match="no two points that are numbers"):
        to_dicom(path, (3, 4))


@pytest.mark.parametrize(
    "data", [[], [1.0], [1.0, float("inf")], [1, 2, 3]], ids=["none", "odd", "inf", "three"]
)
def test_graphic_data_that_are_no_points_are_refused(data):
    with pytest.raises(DicomError, match="not pairs of numbers"):
        from_dicom(data)
