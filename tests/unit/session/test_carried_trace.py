"""A trace asked for over points of another image does not make them a person's on this one."""

import pytest
from helpers.drawn_canal import CLICKS, STOP, TIP, canal_pixels, instrument_pixels, write_pixels

from radlength.geometry import CARRIED
from radlength.record import load_record
from radlength.session import Session


def methods(draft):
    """Return by point who placed it: the method of a program or of carrying, or ``None`` for a person."""
    whose = {n: one.method for one in draft.assists for n in range(one.first, one.last + 1)}
    return [(point, whose.get(n)) for n, point in enumerate(draft.path_px)]


@pytest.fixture
def carried_on(tmp_path):
    """A session on which the clicks of another image came over and were accepted."""
    there = Session.open(write_pixels(tmp_path / "before.png", canal_pixels()))
    there.apply(there.with_canal(tooth="11"))
    there.apply(there.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    there.apply(there.with_canal_path(CLICKS))
    session = Session.open(write_pixels(tmp_path / "after.png", canal_pixels()))
    session.propose_marks(there.annotation, "before.png")
    session.accept()
    return session


def test_clicks_that_came_over_stay_carried_under_a_trace(carried_on):
    carried_on.propose("canal")
    told = dict(methods(carried_on.proposal.marks.canal))
    assert [told[point] for point in CLICKS] == [CARRIED] * len(CLICKS)
    assert "canal trace" in told.values()
    carried_on.accept()
    carried_on.save()
    stored = load_record(carried_on.radiograph.path).canals[0].canal
    assert dict(methods(stored)) == told


def test_a_click_that_was_moved_is_a_persons(carried_on):
    moved = (CLICKS[1][0] + 1.0, CLICKS[1][1])
    carried_on.apply(carried_on.with_canal_path([CLICKS[0], moved, *CLICKS[2:]]))
    carried_on.propose("canal")
    told = dict(methods(carried_on.proposal.marks.canal))
    assert told[moved] is None
    assert told[CLICKS[0]] == CARRIED


def test_the_stop_that_came_over_stays_carried_when_the_tip_is_found(tmp_path):
    there = Session.open(write_pixels(tmp_path / "before.png", instrument_pixels()))
    there.apply(there.with_reference_path([STOP, TIP]))
    session = Session.open(write_pixels(tmp_path / "after.png", instrument_pixels()))
    session.propose_marks(there.annotation, "before.png")
    session.accept()
    session.propose("reference")
    told = methods(session.proposal.marks.reference)
    assert told[0] == (STOP, CARRIED)
    assert told[-1][1] == "instrument tip"
