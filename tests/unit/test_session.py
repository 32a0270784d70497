import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.errors import MarkError, RecordError
from radlength.imaging import Radiograph
from radlength.length import Terminus, confirm_length
from radlength.record import Record, load_record
from radlength.session import Session
from radlength.trade import NOT_CONFIRMED

CANAL = [(20.0, 30.0), (60.0, 32.0), (100.0, 36.0), (140.0, 44.0), (180.0, 58.0), (215.0, 78.0)]
REFERENCE = [*CANAL[:-1], (205.0, 72.0)]


def radiograph(fill=0):
    values = np.random.default_rng(1).integers(0, 200, (240, 120)).astype(np.uint8)
    values[0, 0] = fill
    return Radiograph.from_array(values, name="tooth.png")


@pytest.fixture
def session():
    session = Session(radiograph())
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=20.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    return session


def test_an_empty_session_says_what_is_missing():
    session = Session(radiograph())
    found, words = session.estimate()
    assert found is None
    assert words == (
        "Mark the reference of known length, where there is one. "
        "Then mark the canal: first the reference point, last the radiographic apex."
    )
    begun = "Mark the canal: first the reference point, last the radiographic apex."
    session.apply(session.with_reference_path(REFERENCE))
    assert session.estimate() == (None, begun)
    session.undo()
    session.apply(session.with_canal_path(CANAL[:1]))
    assert session.estimate() == (None, begun)


def test_a_half_marked_reference_gives_no_length():
    session = Session(radiograph())
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_canal_path(CANAL))
    session.apply(session.with_reference_path(REFERENCE))
    assert session.estimate() == (None, "Mark both ends of the reference and give its length in millimetres.")


def test_without_any_scale_the_core_says_so():
    session = Session(radiograph())
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_canal_path(CANAL))
    found, words = session.estimate()
    assert found is None
    assert "no scale: lengths in pixels only" in words


def test_a_preview_moves_the_length_and_is_no_step(session):
    before, steps = session.estimate()[0].canal_length, session.can_redo
    session.preview(session.with_canal_path([*CANAL[:-1], (225.0, 84.0)]))
    assert session.estimate()[0].canal_length.value_mm > before.value_mm
    session.cancel()
    assert session.estimate()[0].canal_length == before
    assert session.can_redo == steps


def test_a_record_made_during_a_drag_measures_the_marks_it_holds(session):
    kept = session.estimate()[0].canal_length.value_mm
    path = session.annotation.canal.path_px
    session.preview(session.with_canal(path_px=(*path[:-1], (path[-1][0] + 20.0, path[-1][1]))))
    assert session.estimate()[0].canal_length.value_mm > kept + 0.1
    record = session.to_record()
    assert record.canals[0].canal.path_px == path
    assert record.estimates[-1].canal_length.value_mm == pytest.approx(kept)


def test_the_working_length_needs_a_terminus(session):
    assert session.estimate()[0].working_length is None
    session.apply(session.with_canal(terminus=Terminus(offset_mm=1.0)))
    assert session.estimate()[0].working_length is not None


def test_take_back_removes_the_last_click(session):
    session.take_back("canal")
    session.take_back("reference")
    assert session.annotation.canal.path_px == tuple(CANAL[:-1])
    assert session.annotation.reference.path_px == tuple(REFERENCE[:-1])


def test_canals_are_added_selected_and_removed(session):
    session.add_canal("11", "second")
    assert session.annotation.canal.name == "second"
    with pytest.raises(MarkError, match="11 second is there already; give it another name"):
        session.add_canal("11", "second")
    session.select(0)
    assert session.annotation.canal.path_px == tuple(CANAL)
    session.remove_canal()
    session.remove_canal()
    assert [canal.path_px for canal in session.annotation.canals] == [()]


def test_a_second_canal_borrows_the_reference(session):
    session.apply(session.with_reference(canal="single"))
    session.add_canal("11", "second")
    session.apply(session.with_canal_path([(row, column + 8) for row, column in CANAL]))
    assert "reference-borrowed" in [finding.code for finding in session.estimate()[0].findings]


def test_every_change_is_told(session):
    told = []
    session.changed.connect(told.append)
    session.take_back("canal")
    session.undo()
    session.redo()
    assert [len(marks.canal.path_px) for marks in told] == [5, 6, 5]


def click(session, number):
    path = session.annotation.canal.path_px
    session.apply(session.with_canal_path([*path, (10.0 + number * 7, 20.0 + number)]))


def click_reference(session, number):
    path = session.annotation.reference.path_px
    session.apply(session.with_reference_path([*path, (10.0 + number * 7, 24.0)]))


def state_offset(session, number):
    session.apply(session.with_canal(terminus=Terminus(offset_mm=number % 3 + 0.5)))


EDIT = {
    "click": click,
    "click reference": click_reference,
    "state length": lambda session, number: session.apply(session.with_reference(length_mm=20.0 + number)),
    "state offset": state_offset,
    "add": lambda session, number: session.add_canal("11", f"canal {number}"),
    "remove": lambda session, _number: session.remove_canal(),
    "select": lambda session, _number: session.select(0),
    "take back": lambda session, _number: session.take_back("canal"),
}
EDITS = st.lists(st.sampled_from(sorted(EDIT)), max_size=25)


@settings(max_examples=40, deadline=None)
@given(edits=EDITS)
def test_undoing_everything_gives_the_start_and_redoing_the_end(edits):
    session = Session(radiograph())
    start = session.annotation
    for number, edit in enumerate(edits):
        EDIT[edit](session, number)
    end = session.annotation
    while session.can_undo:
        session.undo()
    assert session.annotation.canals == start.canals
    assert session.annotation.references == start.references
    while session.can_redo:
        session.redo()
    assert session.annotation.canals == end.canals
    assert session.annotation.references == end.references


def test_saving_and_opening_gives_the_same_marks(tmp_path, saved_image):
    session = Session.open(saved_image)
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=20.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    session.apply(
        session.with_canal(terminus=Terminus(table="apex offset by resorption", observation="bone"))
    )
    session.add_canal("11", "second")
    session.apply(session.with_canal_path([(row, column + 8) for row, column in CANAL]))
    assert session.is_dirty
    told = []
    session.saved.connect(told.append)
    path = session.save(who="tester")
    assert told == [path]
    assert not session.is_dirty
    again = Session.open(saved_image)
    assert again.annotation.canals == session.annotation.canals
    assert again.annotation.references == session.annotation.references
    assert again.estimate(0)[0].canal_length == session.estimate(0)[0].canal_length


def test_saving_twice_adds_history_and_estimates(saved_image):
    session = Session.open(saved_image)
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=20.0))
    session.apply(session.with_canal_path(CANAL))
    session.save()
    first = load_record(saved_image)
    session.apply(session.with_canal_path([*CANAL[:-1], (220.0, 80.0)]))
    session.save()
    second = load_record(saved_image)
    assert second.history[: len(first.history)] == first.history
    assert len(second.estimates) == len(first.estimates) + 1
    assert second.canals[0].id == first.canals[0].id
    session.save()
    assert load_record(saved_image).estimates == second.estimates


def test_marks_of_other_pixels_are_refused():
    with pytest.raises(RecordError, match=r"these marks were made on another image \(pixel hash differs\)"):
        Session(radiograph(), record=Record.new(radiograph(fill=7)))


@pytest.fixture
def saved_image(tmp_path):
    import cv2

    path = tmp_path / "tooth.png"
    cv2.imwrite(str(path), radiograph().stored)
    return path


def test_the_status_is_that_of_the_marks_that_are_shown(session):
    record = session.to_record()
    done = confirm_length(19.5, [CANAL[-2], CANAL[-1]], mm_per_px=0.02, rule="tip within 1 mm")
    record = record.with_confirmation(record.canals[0].id, done, CANAL[-2:])
    session = Session(radiograph(), record=record)
    assert session.status == "confirmed on an image"
    moved = session.with_canal_path([*CANAL[:-1], (225.0, 84.0)])
    session.preview(moved)
    assert session.status == NOT_CONFIRMED
    session.cancel()
    assert session.status == "confirmed on an image"
    session.apply(moved)
    assert session.status == NOT_CONFIRMED == session.to_record().status
    later = Session(radiograph(), record=session.to_record())
    assert "confirmation-outdated" in [finding.code for finding in later.estimate()[0].findings]
    session.undo()
    assert session.status == "confirmed on an image"
