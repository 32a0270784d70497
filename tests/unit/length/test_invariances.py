"""What may not change a length or its interval, and what may only widen it, over random marks."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

PITCHES = st.sampled_from([(0.02, 0.02), (0.01, 0.035), (0.04, 0.025)])
PLACEMENTS = st.sampled_from(["in_canal", "beside", "header"])
STRAIGHT = np.array([(100.0, 500.0), (1000.0, 500.0)])
MARKING = Marking(apex_mm=0.2, stop_mm=0.1, tip_mm=0.05, path_mm=0.08)


@st.composite
def paths(draw):
    count = draw(st.integers(2, 12))
    jitter = draw(arrays(float, (count, 2), elements=st.floats(-40, 40)))
    return np.column_stack([np.linspace(100, 1000, count), np.full(count, 500.0)]) + jitter


def lengths(path, known, placement, pitch=(0.02, 0.02), marking=MARKING, limit=0.25):
    image = Radiograph.from_array(np.zeros((4, 4), np.uint8), row_mm=pitch[0], column_mm=pitch[1])
    tool = None if placement == "header" else Reference(known, 19.0, limit, placement)
    found = estimate_length(Canal("11", "single", path), tool, radiograph=image, marking=marking)
    whole = found.canal_length
    return np.array(
        [
            whole.value,
            whole.u,
            whole.low,
            whole.high,
            found.straight_length.value,
            found.polyline_length.value,
        ]
    )


MOVES = {
    "shifted": (lambda p: p + np.array([321.5, -77.25]), lambda pitch: pitch),
    "a quarter turn": (lambda p: np.column_stack([3000 - p[:, 1], p[:, 0]]), lambda pitch: pitch[::-1]),
    "rows for columns": (lambda p: p[:, ::-1], lambda pitch: pitch[::-1]),
    "mirrored": (lambda p: p * (1, -1) + np.array([0, 2000]), lambda pitch: pitch),
    "upside down": (lambda p: p * (-1, 1) + np.array([2000, 0]), lambda pitch: pitch),
}


@pytest.mark.parametrize("move", MOVES)
@given(path=paths(), known=paths(), placement=PLACEMENTS, pitch=PITCHES)
@settings(max_examples=25)
def test_how_the_image_lies_changes_nothing(move, path, known, placement, pitch):
    points, pixel = MOVES[move]
    moved = lengths(points(path), points(known), placement, pixel(pitch))
    np.testing.assert_allclose(moved, lengths(path, known, placement, pitch), rtol=1e-8, atol=1e-9)


@given(
    path=paths(), known=paths(), placement=st.sampled_from(["in_canal", "beside"]), factor=st.floats(0.1, 10)
)
@settings(max_examples=50)
@example(STRAIGHT, STRAIGHT + 6.1e-5, "in_canal", 0.5)
def test_the_size_of_a_pixel_cancels_where_something_is_of_known_length(path, known, placement, factor):
    other = lengths(path, known, placement, (0.02 * factor, 0.02 * factor))
    np.testing.assert_allclose(other, lengths(path, known, placement), rtol=1e-8, atol=1e-9)


@given(path=paths(), known=paths())
@settings(max_examples=50)
def test_marks_from_the_other_end_have_the_same_length(path, known):
    even = Marking(apex_mm=0.1, stop_mm=0.1, tip_mm=0.1, path_mm=0.1)
    known = known + np.array([3.5, 0.25])  # no mark of it is one of the canal's
    there, back = (
        lengths(p, k, "beside", marking=even) for p, k in ((path, known), (path[::-1], known[::-1]))
    )
    np.testing.assert_allclose(back, there, rtol=1e-8, atol=1e-9)


@given(
    path=paths(),
    known=paths(),
    placement=PLACEMENTS,
    which=st.sampled_from(["apex_mm", "stop_mm", "tip_mm", "limit"]),
    factor=st.floats(1, 5),
)
@settings(max_examples=100)
def test_no_input_that_is_less_sure_narrows_the_interval(path, known, placement, which, factor):
    plain = lengths(path, known, placement)
    if which == "limit":
        wider = lengths(path, known, placement, limit=0.25 * factor)
    else:
        loose = replace(MARKING, **{which: getattr(MARKING, which) * factor})
        wider = lengths(path, known, placement, marking=loose)
    assert wider[0] == plain[0]
    assert wider[1] >= plain[1] - 1e-9
    assert wider[2] <= plain[2] + 1e-9
    assert wider[3] >= plain[3] - 1e-9
