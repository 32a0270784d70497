"""What is drawn on the image beside the points: lines, dashes, words that lie on no other."""

import numpy as np
import pytest
from helpers.drawn_canal import CLICKS

from napari_radlength._convert import nearest_place, steps_of
from napari_radlength._drawing import _apart, drawn, drawn_current


def test_words_on_the_image_do_not_lie_on_one_another(traced):
    traced.go_on()
    traced.next_canal()
    traced.assist = False
    for point in CLICKS:
        traced.click("canal", point, 3.0)
    places = drawn(traced.session, 5.0).places
    assert len(places) == 2
    assert abs(places[1, 0] - places[0, 0]) >= 4 * 5.0


def test_words_of_a_canal_lie_below_its_apex(traced):
    row, column = traced.handles("canal")[-1]
    assert drawn(traced.session, 2.0).places.tolist() == [pytest.approx([row + 3.4 * 2.0, column])]


def test_words_move_aside_before_they_move_down_and_the_first_ones_stay():
    said = [
        "10 mm by instrument in canal MB",
        *(f"46 {name}\nworking length 18.7 mm" for name in ("MB", "ML", "D")),
    ]
    places = [(113.0, 17.0), (102.0, 50.0), (102.0, 53.0), (102.0, 34.0)]
    bar, mb, ml, d = _apart(said, places, 1.0, 90)
    assert (bar[0], mb) == (places[0][0], places[1])
    assert bar[1] >= 0.65 * len(said[0])
    assert (ml[0] - 102.0 >= 5, abs(ml[1] - 53.0) <= 16) == (True, True)
    assert ml[1] - bar[1] >= 0.65 * (len(said[0]) + len("working length 18.7 mm"))
    assert (d[0], 34.0 - d[1] <= 16) == (102.0, True)
    assert mb[1] - d[1] >= 0.65 * 2 * len("working length 18.7 mm")


def test_hidden_canals_are_not_drawn(traced):
    traced.go_on()
    traced.session.apply(traced.session.with_canal(hidden=True))
    assert drawn(traced.session, 5.0).words == ()
    assert len(drawn(traced.session, 5.0).steps) == 0
    assert len(drawn_current(traced.session, 5.0)[0]) == 0


def test_a_point_in_the_hand_is_drawn_as_a_cross(traced):
    before = len(drawn_current(traced.session, 5.0)[0])
    traced.drag("canal", 1, (205.0, 77.0))
    assert traced.dragged == (205.0, 77.0)
    steps, _ = drawn_current(traced.session, 5.0, traced.dragged)
    assert len(steps) == pytest.approx(before + 2, abs=3)
    assert (steps[-2:].mean(0)[0] + steps[-2:].mean(0)[1] / 2).tolist() == pytest.approx([205.0, 77.0])
    traced.keep("canal", traced.handles("canal"))
    assert traced.dragged is None


def test_dashes_leave_steps_out():
    line = np.column_stack([np.arange(9.0), np.zeros(9)])
    assert len(steps_of(line)) == 8
    assert len(steps_of(line, dash=3)) == 6
    assert len(steps_of(line, arrow=2.0)) == 10


def test_the_nearest_place_of_a_line_of_one_step():
    assert nearest_place(np.array([[0.0, 0.0], [0.0, 10.0]]), np.array([3.0, 20.0]))[1] == pytest.approx(
        np.hypot(3, 10)
    )
