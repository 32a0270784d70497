"""What a learner does again and again is told, also where it adds nothing to the mean of any part."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.exercise_markers import (
    CAREFUL,
    Marker,
    answer_of,
    as_tuples,
    attempt_with,
    course,
    traces,
    truth_of,
)

from radlength.exercise import score_answers
from radlength.exercise.advice import NO_CAUSE
from radlength.exercise.classroom import ClassResult, keys_of
from radlength.exercise.feedback import give_feedback
from radlength.exercise.learner import summarise
from radlength.exercise.page import class_page, standing_out
from radlength.exercise.straight import STRAIGHT, marked_straight

ENDS = Marker(apex_mm=0.02, end_mm=0.02, clicks=2)


def taken(made, marker, way=None, few=None):
    """Return every answer of a set, the first `few` of them changed."""
    rng, answers = np.random.default_rng(8), []
    for order, (task, truth) in enumerate(zip(made.exercises.tasks, truth_of(made).answers, strict=True), 1):
        answer = answer_of(task, truth, marker, rng, order)
        answers.append(way(answer) if way and order <= (few or order) else answer)
    return answers


def aside(answer):
    """Return the same canal 2.5 mm beside it."""
    return answer.model_copy(
        update={"canal_px": as_tuples(np.array(answer.canal_px) + np.array([0.0, 90.0]))}
    )


def summary_of(made, answers):
    keys = keys_of(made.exercises, truth_of(made))
    return summarise("A01", score_answers([(keys[answer.task], answer) for answer in answers]))


def test_who_marks_another_canal_is_told_so_and_never_that_nothing_stands_out():
    made = traces(13)
    one = summary_of(made, taken(made, CAREFUL, aside, 9))
    assert one.verdict == "not passed"
    assert one.advice.startswith("In 9 of 13 exercises with marks the marks lie beside the canal")
    assert NO_CAUSE not in one.advice
    assert standing_out(one)[0].startswith("marks elsewhere in 9 of 13")
    page = class_page(ClassResult(made.exercises, (one,), ()))
    assert "marks elsewhere in 9 of 13" in page
    assert "(n\u00a04)" in page, "a mean of four of thirteen lengths says so"


def test_who_marks_in_place_is_told_of_no_habit():
    made = course()
    one = summary_of(made, taken(made, CAREFUL))
    assert (one.habits, one.advice, standing_out(one)[0]) == ((), NO_CAUSE, "nothing")


def test_a_straight_measurer_is_told_also_where_the_errors_cancel():
    made = traces(8, "bent twice")
    answers = taken(made, ENDS)
    one = summary_of(made, answers)
    assert abs(one.bias_mm) < 0.35, "canal and instrument are both too short, and the length hides it"
    assert "a bend was marked by its two ends alone" in one.advice
    assert "bends by two clicks in 8 of 8" in standing_out(one)[0]
    told = give_feedback(made.exercises, truth_of(made), attempt_with(made.exercises, answers))
    for exercise in told.exercises:
        assert any("two ends alone" in line for line in exercise.lines)
        assert exercise.advice != NO_CAUSE


@pytest.mark.parametrize("what", ["canal_px", "reference_px"])
def test_what_a_straight_line_loses_is_the_arc_less_its_chord(what):
    """By hand on the true polyline: its length by Pythagoras, step by step, less that from end to end."""
    made, seen = traces(8, "bent twice"), 0
    keys = keys_of(made.exercises, truth_of(made))
    for task, truth in zip(made.exercises.tasks, truth_of(made).answers, strict=True):
        line = np.array(getattr(truth, what))
        whole = answer_of(task, truth, Marker(), np.random.default_rng(1), 1)
        found = marked_straight(keys[task.id], whole.model_copy(update={what: as_tuples(line[[0, -1]])}))
        arc, chord = np.hypot(*np.diff(line, axis=0).T).sum(), np.hypot(*(line[-1] - line[0]))
        lost = (arc - chord) * truth.reference_mm / np.hypot(*np.diff(truth.reference_px, axis=0).T).sum()
        assert [finding.code for finding in found] == ([STRAIGHT] if lost >= 0.1 else [])
        assert all(f"{lost:.2f} mm shorter" in finding.sentence for finding in found)
        assert marked_straight(keys[task.id], whole) == ()
        seen += len(found)
    assert seen >= 3


def test_two_clicks_on_a_straight_root_are_no_fault():
    made = traces(3, "straight")
    one = summary_of(made, taken(made, Marker(clicks=2)))
    assert [finding.code for result in one.results for finding in result.findings] == []
    assert one.habits == ()
