"""The hand on the session, without any window: tracing by default, by hand where the person wants."""

import numpy as np
import pytest
from helpers.drawn_canal import CLICKS, STOP, TIP, canal_pixels, instrument_pixels
from hypothesis import given, settings
from hypothesis import strategies as st

from napari_radlength._drawing import drawn_current
from napari_radlength._guide import next_step
from napari_radlength._marking import Marker
from napari_radlength._placed import placed_words
from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.session import Session


def test_an_empty_image_starts_with_the_reference(marker):
    assert marker.tool == "reference"
    asked = "Click the stop of the instrument; no instrument there: C marks the canal"
    assert next_step(marker.session, "reference", assist=True) == asked


def test_the_third_click_is_traced_and_enter_keeps_it(traced):
    session = traced.session
    assert session.proposal.clicks_px == tuple(CLICKS)
    assert "Enter accepts it" in next_step(session, "canal", assist=True)
    assert traced.handles("canal") == tuple(CLICKS)
    traced.go_on()
    assert session.proposal is None
    assert sum(one.count for one in session.annotation.canal.assists) == 10
    assert "is marked" in next_step(session, "canal", assist=True)


def test_escape_keeps_the_clicks_and_again_stops_marking(traced):
    traced.drop()
    assert traced.session.annotation.canal.path_px == tuple(CLICKS)
    traced.drop()
    assert traced.tool is None


def test_by_hand_nothing_is_traced(marker):
    marker.assist = False
    for point in CLICKS:
        marker.click("canal", point, 3.0)
    assert marker.session.proposal is None
    assert "3 clicks" in next_step(marker.session, "canal", assist=False)
    marker.propose("canal", asked=True)
    assert marker.session.proposal is not None


def test_a_trace_follows_a_dragged_point(traced):
    traced.drag("canal", 1, (205.0, 77.0))
    assert traced.session.proposal.clicks_px[1] == (205.0, 77.0)
    assert traced.session.annotation.canal.path_px[0] == CLICKS[0]
    rows = traced.session.radiograph.shape[0]
    traced.drag("canal", 2, (600.0, 77.0))
    assert traced.session.proposal.clicks_px[2] == (rows - 0.5, 77.0)
    assert traced.note == ""


def test_a_point_put_back_leaves_everything_as_it_was(traced):
    session = traced.session
    proposed = session.annotation
    traced.drag("canal", 1, (205.0, 77.0))
    traced.put_back()
    assert (session.annotation, session.proposal.clicks_px) == (proposed, tuple(CLICKS))
    traced.go_on()
    accepted = session.annotation
    traced.use("canal")
    traced.drag("canal", 1, (205.0, 77.0))
    assert session.proposal is not None
    traced.put_back()
    assert session.proposal is None
    assert session.annotation is accepted
    traced.put_back()
    assert session.annotation is accepted


def test_a_click_on_the_line_goes_between_and_one_beyond_goes_to_the_end(traced):
    traced.click("canal", (100.0, 66.0), 3.0)
    assert traced.handles("canal")[1] == (100.0, 66.0)
    assert traced.chosen == 1
    traced.click("canal", (410.0, 107.0), 30.0)
    assert traced.handles("canal")[-1] == (410.0, 107.0)


def test_a_click_for_the_next_canal_does_not_change_an_accepted_one(traced):
    traced.go_on()
    before = traced.session.annotation
    traced.click("canal", (30.0, 130.0), 3.0)
    assert traced.session.annotation == before
    assert "N for the next one" in traced.note
    traced.click("canal", (100.0, 64.0), 6.0)
    assert len(traced.handles("canal")) == 4


def test_nine_clicks_are_more_than_a_trace_takes(marker):
    marker.use("canal")
    for row in np.linspace(20, 390, 9):
        marker.click("canal", (row, 60 + 43 * ((row - 20) / 370) ** 1.4), 0.1)
    assert marker.session.proposal is None
    assert len(marker.session.annotation.canal.path_px) == 9


def test_points_are_chosen_nudged_and_deleted(traced):
    traced.choose(1)
    traced.choose(1)
    traced.nudge(0.1, 0.0)
    assert traced.handles("canal")[1] == pytest.approx((CLICKS[1][0] + 0.1, CLICKS[1][1]))
    traced.choose(-1)
    traced.delete_chosen()
    assert len(traced.handles("canal")) == 2
    with pytest.raises(MarkError, match="no point is chosen"):
        traced.delete_chosen()


def test_nudging_nothing_is_nothing(marker):
    marker.nudge(1.0, 0.0)
    marker.choose(1)
    marker.take_back()
    assert not marker.session.can_undo


def test_taking_back_traces_again(traced):
    traced.click("canal", (405.0, 106.0), 0.1)
    traced.take_back()
    assert traced.session.proposal.clicks_px == tuple(CLICKS)


def test_the_instrument_is_found_and_hands_over_to_the_canal():
    marker = Marker(Session(Radiograph.from_array(instrument_pixels(), name="tooth.png")))
    marker.click("reference", STOP, 3.0)
    marker.click("reference", (TIP[0] - 3, TIP[1] + 2), 3.0)
    assert marker.session.proposal.what == "reference"
    assert "Instrument found" in next_step(marker.session, "reference", assist=True)
    marker.go_on()
    assert marker.tool == "reference"
    assert "Type the real length" in next_step(marker.session, "reference", assist=True)
    marker.session.apply(marker.session.with_reference(length_mm=12.0))
    marker.go_on()
    assert marker.tool == "canal"
    again = Marker(marker.session)
    assert again.tool == "canal"


def test_a_reference_beside_the_tooth_is_marked_by_its_ends(marker):
    marker.session.apply(marker.session.with_reference(placement="beside"))
    asked = "Click one end of the reference; no reference there: C marks the canal"
    assert next_step(marker.session, "reference", assist=True) == asked
    for point in (STOP, TIP):
        marker.click("reference", point, 3.0)
    assert marker.session.proposal is None
    assert marker.session.annotation.reference.canal is None


def test_next_canal_waits_for_a_decision_and_takes_the_usual_names(traced):
    with pytest.raises(MarkError, match=r"accept it \(Enter\) or drop it \(Esc\) first"):
        traced.next_canal()
    traced.go_on()
    traced.set_tooth("46")
    traced.next_canal()
    traced.next_canal()
    assert [one.label for one in traced.session.annotation.canals] == ["46 MB", "46 ML"]
    assert traced.session.annotation.current == 1


def test_an_untrusted_proposal_says_why_and_is_drawn_otherwise(marker):
    marker.use("canal")
    flat = Marker(Session(Radiograph.from_array(canal_pixels() // 255 + np.uint8(90))))
    for one in (marker, flat):
        for point in CLICKS:
            one.click("canal", point, 3.0)
    assert "look closely" in next_step(flat.session, "canal", assist=True)
    (good, colours), (bad, doubtful) = (drawn_current(one.session, 5.0) for one in (marker, flat))
    assert colours[0].tolist() != doubtful[0].tolist()
    assert len(bad) < len(good)


def click_somewhere(marker, number):
    marker.use("canal")
    marker.click("canal", (20.0 + 37 * (number % 10), 60.0 + number), 0.5)


def click_reference(marker, number):
    marker.use("reference")
    marker.click("reference", (30.0 + 20 * number % 300, 30.0), 0.5)


def next_canal(marker, _number):
    marker.session.discard()
    marker.next_canal()


def delete(marker, _number):
    marker.use("canal")
    marker.choose(1)
    if marker.handles("canal"):
        marker.delete_chosen()


DEEDS = {
    "click": click_somewhere,
    "click reference": click_reference,
    "accept": lambda marker, _number: marker.go_on(),
    "drop": lambda marker, _number: marker.session.discard(),
    "take back": lambda marker, _number: marker.take_back(),
    "nudge": lambda marker, _number: marker.nudge(0.1, 1.0),
    "delete": delete,
    "next canal": next_canal,
    "tooth": lambda marker, number: marker.set_tooth(("46", "26", "11")[number % 3]),
    "remove": lambda marker, _number: marker.session.remove_canal(),
    "reference": lambda marker, _number: marker.session.add_reference(),
    "hide": lambda marker, number: marker.session.apply(marker.session.with_canal(hidden=number % 2 == 0)),
}


@settings(max_examples=12, deadline=None)
@given(deeds=st.lists(st.sampled_from(sorted(DEEDS)), min_size=50, max_size=50))
def test_fifty_steps_are_undone_and_done_again(deeds):
    marker = Marker(Session(Radiograph.from_array(canal_pixels())))
    session = marker.session
    start = session.annotation
    for number, deed in enumerate(deeds):
        try:
            DEEDS[deed](marker, number)
        except MarkError:
            session.discard()
    session.discard()
    end = session.annotation
    while session.can_undo:
        session.undo()
    assert (session.annotation.canals, session.annotation.references) == (start.canals, start.references)
    while session.can_redo:
        session.redo()
    assert (session.annotation.canals, session.annotation.references) == (end.canals, end.references)


@pytest.fixture
def carried_on(marker):
    """A hand on an image without marks, on which those of another image are proposed: two canals and a reference."""
    there = Session(Radiograph.from_array(canal_pixels()))
    there.apply(there.with_canal(tooth="46", name="MB"))
    there.apply(there.with_reference(path_px=((50.0, 70.0), (200.0, 74.0)), length_mm=19.0, canal="MB"))
    there.apply(there.with_canal_path([(50.0, 70.0), (110.0, 72.0), (170.0, 75.0), (230.0, 80.0)]))
    there.add_canal("46", "D")
    there.apply(there.with_canal_path([(50.0, 30.0), (230.0, 40.0)]))
    there.select(0)
    marker.session.propose_marks(there.annotation, "other.png")
    marker.use("canal")
    return marker


def carried_points(draft):
    return sum(one.count for one in draft.assists if one.method == "carried over")


def test_a_carried_point_dragged_to_its_place_leaves_the_others_as_carried(carried_on):
    session = carried_on.session
    for where in ((172.0, 77.0), (174.0, 79.0)):
        carried_on.drag("canal", 2, where)
        assert len(session.annotation.canals) == 2
    carried_on.put_down("canal", 2, (174.0, 79.0))
    marks = session.annotation
    assert [one.label for one in marks.canals] == ["46 MB", "46 D"]
    assert (marks.reference.length_mm, len(marks.reference.path_px)) == (19.0, 2)
    assert marks.canal.path_px[2] == (174.0, 79.0)
    assert [carried_points(one) for one in (*marks.canals, marks.reference)] == [3, 2, 2]
    assert session.proposal is None
    session.undo()
    assert not session.can_undo
    assert session.annotation.canal.path_px == ()


def test_a_carried_end_of_the_reference_dragged_keeps_the_canals(carried_on):
    carried_on.use("reference")
    carried_on.drag("reference", 1, (205.0, 75.0))
    carried_on.put_down("reference", 1, (205.0, 75.0))
    marks = carried_on.session.annotation
    assert marks.reference.path_px == ((50.0, 70.0), (205.0, 75.0))
    assert [carried_points(one) for one in (*marks.canals, marks.reference)] == [4, 2, 1]


def test_a_carried_point_put_back_is_proposed_again_with_all_others(carried_on):
    proposed = carried_on.session.proposal
    carried_on.drag("canal", 2, (172.0, 77.0))
    carried_on.put_back()
    found = carried_on.session.proposal
    assert (found.method, found.clicks_px) == (proposed.method, proposed.clicks_px)
    assert [len(one.path_px) for one in found.marks.canals] == [4, 2]


def test_a_trace_that_was_asked_for_comes_back_with_the_point_put_back(marker):
    marker.assist = False
    marker.use("canal")
    for point in CLICKS:
        marker.click("canal", point, 3.0)
    marker.propose("canal", asked=True)
    marker.drag("canal", 1, (205.0, 77.0))
    marker.put_back()
    assert marker.session.proposal.clicks_px == tuple(CLICKS)


def test_a_name_that_the_program_gave_of_several_is_asked_about(traced):
    traced.go_on()
    traced.set_tooth("46")
    assert traced.note == (
        "Named MB, the first that is free of MB, ML, D. Is it another canal? Type its name beside the tooth"
    )
    traced.session.rename_canal("46", "D")
    traced.set_tooth("36")
    assert traced.note == ""
    traced.set_tooth("11")
    assert (traced.session.annotation.canal.name, traced.note) == ("single", "")


def test_points_that_came_over_are_not_the_programs_in_words(carried_on):
    carried_on.go_on()
    said = placed_words(carried_on.session.annotation.canal)
    assert said == "4 points: 0 by a person, 4 brought over from another image"
