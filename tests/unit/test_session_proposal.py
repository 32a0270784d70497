"""What a program proposes: shown, kept only when accepted, and told apart from what a person placed."""

import numpy as np
import pytest
from helpers.drawn_canal import (
    CLICKS,
    STOP,
    TIP,
    canal_column,
    canal_pixels,
    instrument_pixels,
    write_pixels,
)

from radlength.errors import MarkError
from radlength.length import Terminus
from radlength.record import load_record
from radlength.session import Session
from radlength.tracing.trace import METHOD, VERSION


@pytest.fixture
def session(tmp_path):
    session = Session.open(write_pixels(tmp_path / "tooth.png", canal_pixels()))
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    session.apply(session.with_canal_path(CLICKS))
    return session


def test_a_proposal_is_shown_and_not_kept(session):
    before = session.annotation
    found = session.propose()
    assert session.proposal is found
    assert session.annotation == found.marks
    assert session.estimate()[0] is not None
    session.discard()
    assert session.proposal is None
    assert session.annotation == before


def test_the_path_lies_on_the_drawn_canal_and_every_click_stays(session):
    found = session.propose()
    assert found.trusted
    assert set(CLICKS) <= set(found.path_px)
    off = [column - canal_column(row) for row, column in found.path_px]
    assert np.abs(off).max() < 2.0
    assert len(found.path_px) in range(11, 16)


def test_an_accepted_proposal_says_what_a_person_placed(session):
    session.propose()
    session.accept()
    canal = session.annotation.canal
    assert session.proposal is None
    assert canal.handles_px == tuple(CLICKS)
    assert sum(one.count for one in canal.assists) == len(canal.path_px) - len(CLICKS)
    assert {(one.method, one.version) for one in canal.assists} == {(METHOD, VERSION)}
    assert all(0 <= one.confidence <= 1 for one in canal.assists)
    session.undo()
    assert session.annotation.canal.path_px == tuple(CLICKS)


def test_the_record_and_the_next_session_keep_it(session):
    session.propose()
    session.accept()
    session.save()
    stored = load_record(session.radiograph.path).canals[0].canal
    assert stored.assists == session.annotation.canal.assists
    again = Session.open(session.radiograph.path)
    assert again.annotation.canals == session.annotation.canals
    assert again.annotation.references == session.annotation.references
    assert not again.is_dirty


def test_what_is_shown_and_not_accepted_is_not_saved(session):
    session.propose()
    with pytest.raises(MarkError, match="a proposal is shown that is not accepted; accept it or discard it"):
        session.save()
    session.discard()
    assert session.save().exists()


def test_an_edit_of_its_clicks_drops_a_proposal(session):
    session.propose()
    session.apply(session.with_canal_path(CLICKS[:2]))
    assert session.proposal is None
    assert session.annotation.canal.assists == ()
    with pytest.raises(MarkError, match="nothing is proposed"):
        session.accept()


BESIDE = {
    "tooth": lambda one: one.rename_canal("46", "MB"),
    "end of the work": lambda one: one.apply(one.with_canal(terminus=Terminus(offset_mm=1.0))),
    "length": lambda one: one.apply(one.with_reference(length_mm=13.0)),
}


@pytest.mark.parametrize("edit", BESIDE.values(), ids=BESIDE)
def test_an_edit_beside_its_clicks_keeps_a_proposal_and_its_length(session, edit):
    """Told to choose the tooth, nobody expects the trace to go and another length to stand there."""
    before = session.propose()
    edit(session)
    found = session.proposal
    assert found is not None
    assert np.allclose(found.path_px, before.path_px, atol=1)  # a length tells the size of a pixel
    assert session.annotation == found.marks
    session.accept()
    assert session.annotation.canal.assists
    session.undo()
    session.undo()
    assert session.annotation.canal.path_px == tuple(CLICKS)


def test_a_drag_that_is_proposed_outlives_an_edit_beside_it(session):
    moved = [CLICKS[0], (205.0, 76.0), CLICKS[2]]
    session.propose(through=moved)
    session.rename_canal("46", "MB")
    assert session.proposal.clicks_px == tuple(moved)


def test_carried_marks_are_accepted_before_anything_beside_them_changes(session, tmp_path):
    other = Session.open(write_pixels(tmp_path / "later.png", canal_pixels()))
    other.propose_marks(session.annotation, "tooth.png")
    with pytest.raises(MarkError, match="accept it or discard it first"):
        other.rename_canal("46", "MB")
    assert other.proposal is not None


def test_a_refused_proposal_leaves_the_clicks(session):
    session.propose()
    with pytest.raises(MarkError, match="outside the image"):
        session.propose(through=[CLICKS[0], (500.0, 60.0)])
    assert session.proposal is None
    assert session.annotation.canal.path_px == tuple(CLICKS)


def test_a_proposal_through_other_clicks_follows_a_drag(session):
    moved = [CLICKS[0], (205.0, 76.0), CLICKS[2]]
    found = session.propose(through=moved)
    assert found.clicks_px == tuple(moved)
    session.discard()
    assert session.annotation.canal.path_px == tuple(CLICKS)


def test_moving_one_click_by_hand_takes_the_programs_points_away(session):
    session.propose()
    session.accept()
    session.apply(session.with_canal_path([CLICKS[0], (200.0, 75.0), CLICKS[2]]))
    assert session.annotation.canal.assists == ()


def test_an_instrument_is_found_between_stop_and_tip(tmp_path):
    session = Session.open(write_pixels(tmp_path / "tooth.png", instrument_pixels()))
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference_path([STOP, (TIP[0] - 4, TIP[1] + 3)]))
    found = session.propose("reference")
    assert found.path_px[0] == STOP
    assert np.hypot(*(np.subtract(found.path_px[-1], TIP))) < 4
    session.accept()
    assert session.annotation.reference.canal == "single"
    session.apply(session.with_reference(length_mm=12.0))
    draft = session.annotation.reference
    assert draft.finished().assists[0].method == "instrument tip"
    assert draft.handles_px == (STOP, draft.path_px[-1])


def test_the_tip_stays_the_programs_while_the_stop_is_moved(tmp_path):
    session = Session.open(write_pixels(tmp_path / "tooth.png", instrument_pixels()))
    session.apply(session.with_canal(tooth="11"))
    session.propose("reference", [STOP, TIP])
    session.accept()
    tip = session.annotation.reference.path_px[-1]
    session.apply(session.with_reference_path([(18.0, 80.0), tip]))
    assert [(one.first, one.last) for one in session.annotation.reference.assists] == [(1, 1)]


def test_a_reference_beside_the_tooth_is_marked_by_hand(session):
    session.apply(session.with_reference(placement="beside"))
    with pytest.raises(MarkError, match="mark a reference beside the tooth by its two ends"):
        session.propose("reference")


def test_colour_and_hiding_are_no_marks(session):
    session.save()
    session.apply(session.with_canal(colour="#009e73", hidden=True))
    assert session.can_undo
    assert not session.is_dirty


def test_a_reference_that_is_gone_leaves_the_record(session):
    from dataclasses import replace

    session.save()
    marks = session.annotation
    renamed = replace(marks.references[0], name="wire")
    canal = replace(marks.canal, reference="wire")
    session.apply(replace(marks, references=(renamed,), canals=(canal,)))
    session.save()
    record = load_record(session.radiograph.path)
    assert [one.name for one in record.references] == ["wire"]
    assert record.canals[0].reference == "wire"


def test_how_a_canal_is_known_to_be_straight_survives_a_session(session):
    from dataclasses import replace

    from radlength.record import save_record

    session.save()
    record = load_record(session.radiograph.path)
    canal = replace(record.canals[0].canal, straight="second view at 20 degrees")
    save_record(record.with_canal(canal, reference="reference 1"), session.radiograph.path)
    again = Session.open(session.radiograph.path)
    again.apply(again.with_canal(reference_point="cusp"))
    again.save()
    assert load_record(session.radiograph.path).canals[0].canal.straight == "second view at 20 degrees"


def test_what_is_known_of_the_instrument_moves_its_tip_and_is_in_the_record(tmp_path):
    session = Session.open(write_pixels(tmp_path / "tooth.png", instrument_pixels()))
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=(STOP, TIP), length_mm=12.0))
    tips = {}
    for form in (None, "rounded", "short cone"):
        session.apply(session.with_reference(size=15.0, taper=0.02, tip_form=form))
        tips[form] = session.propose("reference").path_px[-1][0]
    assert tips["rounded"] < tips[None] < tips["short cone"]
    session.accept()
    session.save()
    again = Session.open(tmp_path / "tooth.png").annotation.reference
    assert (again.size, again.taper, again.tip_form) == (15.0, 0.02, "short cone")
    session.undo()
    session.undo()
    assert session.annotation.reference.tip_form == "rounded"


def test_a_shape_of_no_instrument_is_refused(session):
    session.apply(session.with_reference(size=500.0))
    found, words = session.estimate()
    assert found is None
    assert "size 500" in words


def test_an_instrument_that_lies_in_another_canal_is_not_written_over(tmp_path):
    session = Session.open(write_pixels(tmp_path / "tooth.png", instrument_pixels()))
    session.apply(session.with_canal(tooth="46", name="MB"))
    session.apply(session.with_reference_path([STOP, TIP]))
    session.propose("reference")
    session.accept()
    before = session.annotation.reference
    session.add_canal("46", "ML")
    with pytest.raises(MarkError, match="a reference of its own"):
        session.propose("reference", [(STOP[0] + 3, STOP[1]), TIP])
    assert session.annotation.reference == before
