import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from radlength.errors import MarkError
from radlength.geometry import (
    as_points,
    check_path,
    crosses_itself,
    points_outside,
    polyline_length,
    straight_length,
)

REFUSED = [
    pytest.param([], "a path has 0 points; a path needs at least two", id="none"),
    pytest.param([(1, 2)], "a path has 1 point; a path needs at least two", id="one"),
    pytest.param([(1, 2), (1, np.nan)], "a path has a point that is not a number", id="nan"),
    pytest.param([(1, 2), (np.inf, 3)], "a path has a point that is not a number", id="infinite"),
    pytest.param(
        [(1, 2), (1e200, 3)], r"a path has a point 1e\+200 away .*; coordinates up to 1e\+09", id="too far"
    ),
    pytest.param([(1, 2, 3), (4, 5, 6)], r"a path has the shape \(2, 3\)", id="three-dimensional"),
    pytest.param([(1, 2), (3,)], "a path is not a list of numbers", id="ragged"),
    pytest.param([(0, 0), ("5", "6")], "a path is not a list of numbers", id="texts of numbers"),
    pytest.param(np.array([[None, "1"], [2, 3]], object), "a path is not", id="texts among objects"),
    pytest.param(np.eye(2, dtype=bool), "a path is not a list of numbers", id="truth values"),
    pytest.param(np.array([[0, 0], [9, 1j]]), "a path is not a list of numbers", id="complex"),
    pytest.param(np.array([[0, 0], [9, 9]], "M8[s]"), "a path is not a list of numbers", id="dates"),
    pytest.param([(0, 0), (10**400, 0)], "a path is not a list of numbers", id="beyond any float"),
    pytest.param(
        np.ma.array([[0, 0], [5, 9], [9, 0]], mask=[[0, 0], [1, 1], [0, 0]]),
        "a path is not a list of numbers",
        id="a point taken away by a mask",
    ),
    pytest.param("abc", "a path is not a list of numbers", id="text"),
    pytest.param(None, "a path has", id="nothing"),
    pytest.param(7.0, "a path has the shape", id="number"),
    pytest.param([(1, 2), (5, 5), (1, 2)], "a path starts and ends at the same place", id="closed"),
]


@pytest.mark.parametrize(("path", "words"), REFUSED)
def test_a_path_that_cannot_be_measured_is_refused(path, words):
    with pytest.raises(MarkError, match=words):
        check_path(path)


@pytest.mark.parametrize("kind", ["<f8", ">f8", ">i2", "<f2", "longdouble", "object", "uint8"])
def test_numbers_of_every_kind_make_the_same_path(kind):
    rows = np.array([(0, 0), (5, 1), (9, 3)], kind)
    rows.flags.writeable = False
    wide = np.zeros((3, 6), kind)
    wide[:, ::3] = rows
    assert as_points(rows) == as_points(wide[:, ::3]) == as_points(np.asfortranarray(rows))
    assert as_points(rows) == ((0.0, 0.0), (5.0, 1.0), (9.0, 3.0))


def test_the_refusal_names_what_the_path_is_of():
    with pytest.raises(MarkError, match=r"^46 MB: a path has 1 point"):
        check_path([(0, 0)], subject="46 MB")


def test_points_are_plain_and_hashable():
    assert hash(as_points(np.array([[0, 0], [3, 4]]))) == hash(((0.0, 0.0), (3.0, 4.0)))


def test_lengths_of_a_3_4_5_triangle():
    points = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]])
    assert polyline_length(points) == 7.0
    assert straight_length(points) == 5.0


@pytest.mark.parametrize(
    ("points", "crosses"),
    [
        pytest.param([(0, 0), (4, 4), (4, 0), (0, 4)], True, id="figure-eight"),
        pytest.param([(0, 0), (1, 0), (2, 1), (3, 1)], False, id="step"),
        pytest.param([(0, 0), (4, 4), (4, 0), (5, 0)], False, id="hook"),
    ],
)
def test_crossing(points, crosses):
    assert crosses_itself(np.array(points, dtype=float)) is crosses


def test_the_edge_of_the_outer_pixels_is_inside():
    shape = (100, 50)
    assert points_outside(np.array([(-0.5, -0.5), (99.5, 49.5)]), shape) == 0
    assert points_outside(np.array([(-0.6, 0), (0, 49.6), (50, 20)]), shape) == 2


@given(arrays(float, st.tuples(st.integers(2, 8), st.just(2)), elements=st.floats(-500, 500, width=32)))
def test_the_polyline_is_never_shorter_than_the_chord(points):
    assert polyline_length(points) >= straight_length(points) - 1e-6
