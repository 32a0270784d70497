"""Small edits one after another are one undo step together."""

import cv2
import numpy as np
import pytest

from radlength.imaging import Radiograph
from radlength.session import Session, runs


class Clock:
    now = 100.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    made = Clock()
    monkeypatch.setattr(runs, "monotonic", made)
    return made


@pytest.fixture
def session():
    made = Session(Radiograph.from_array(np.zeros((240, 120), np.uint8), name="tooth.png"))
    made.apply(made.with_canal_path([(20.0, 30.0), (200.0, 30.0)]))
    return made


def end_of(session):
    return session.annotation.canal.path_px[-1][0]


def move(session, row, run="end"):
    session.apply(session.with_canal_path([(20.0, 30.0), (row, 30.0)]), run=run)


def test_a_run_is_one_step_and_comes_back_as_one(session, clock):
    for step in range(1, 31):
        clock.now += 0.03
        move(session, 200 + step / 10)
    session.undo()
    assert end_of(session) == 200.0
    assert session.can_redo
    session.redo()
    assert end_of(session) == 203.0
    session.undo()
    session.undo()
    assert session.annotation.canal.path_px == ()
    assert not session.can_undo


@pytest.mark.parametrize("parted", ["a while", "another run", "an edit", "undo and redo"])
def test_what_parts_a_run_begins_a_step(session, clock, parted):
    move(session, 201.0)
    if parted == "a while":
        clock.now += runs.RUN_S
    elif parted == "an edit":
        session.apply(session.with_canal(tooth="11"))
    elif parted == "undo and redo":
        session.undo()
        session.redo()
    move(session, 202.0, run="other" if parted == "another run" else "end")
    session.undo()
    assert end_of(session) == 201.0


def test_a_run_that_comes_back_to_its_start_is_no_step(session, clock):
    move(session, 201.0)
    move(session, 200.0)
    move(session, 202.0)
    session.undo()
    assert end_of(session) == 200.0
    session.undo()
    assert session.annotation.canal.path_px == ()


def test_an_edit_without_a_run_is_always_a_step(session, clock):
    move(session, 201.0, run=None)
    move(session, 202.0, run=None)
    session.undo()
    assert end_of(session) == 201.0


def test_after_a_new_run_nothing_is_done_again(session, clock):
    move(session, 201.0)
    session.undo()
    move(session, 205.0)
    assert not session.can_redo
    session.undo()
    assert end_of(session) == 200.0


def test_what_was_saved_is_a_step_to_come_back_to(clock, tmp_path):
    """Moved on by the same key within a second, and back to where it was: the saved marks would be out of reach."""
    path = tmp_path / "tooth.png"
    cv2.imwrite(str(path), np.zeros((240, 120), np.uint8))
    session = Session.open(path)
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_canal_path([(20.0, 30.0), (200.0, 30.0)]))
    move(session, 201.0)
    session.save()
    move(session, 200.0)
    assert session.is_dirty
    session.undo()
    assert (end_of(session), session.is_dirty) == (201.0, False)
    session.undo()
    assert end_of(session) == 200.0
