"""Marks that lie elsewhere are as long as those in place: they are told apart, and count as missed."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.exercise_markers import (
    CAREFUL,
    Marker,
    answer_of,
    as_tuples,
    attempt_of,
    attempt_with,
    traces,
    truth_of,
)
from scipy.stats import binomtest

from radlength.exercise import build_set, course_items, score_answers
from radlength.exercise.agreement import share_within
from radlength.exercise.classroom import keys_of
from radlength.exercise.ending import Ending
from radlength.exercise.feedback import give_feedback
from radlength.exercise.files import dump_attempt, parse_attempt
from radlength.exercise.gradebook import learner_row
from radlength.exercise.learner import summarise
from radlength.exercise.place import ELSEWHERE
from radlength.exercise.publish import publish


def exchanged(points, columns):
    del columns
    return points[:, ::-1]


def mirrored(points, columns):
    return np.column_stack([points[:, 0], columns - 1 - points[:, 1]])


def beside(points, columns):
    del columns
    return points + np.array([0.0, 100.0])


WAYS = {"column before row": exchanged, "left for right": mirrored, "another tooth": beside}


def moved(answer, task, way):
    """Return the same marks somewhere else; only those that stay on the image are of use."""
    told = {
        name: as_tuples(way(np.array(path), task.columns))
        for name, path in (("reference_px", answer.reference_px), ("canal_px", answer.canal_px))
    }
    return answer.model_copy(update=told)


def first(made, marker=CAREFUL):
    task, truth = made.exercises.tasks[0], truth_of(made).answers[0]
    key = keys_of(made.exercises, truth_of(made))[task.id]
    return key, answer_of(task, truth, marker, np.random.default_rng(4), 1)


@pytest.mark.parametrize("way", WAYS)
def test_marks_elsewhere_are_as_long_and_count_as_missed(way):
    key, good = first(traces(1))
    inside, outside = score_answers([(key, good), (key, moved(good, key.task, WAYS[way]))])
    assert abs(inside.error_mm) < 0.5
    assert not inside.missed
    assert (outside.measured_mm, outside.parts_mm, outside.missed) == (None, None, True)
    (found,) = [finding for finding in outside.findings if finding.severity == "serious"]
    assert found.code == ELSEWHERE
    assert "counts as missed" in found.sentence
    assert summarise("A1", [outside]).within.value == 0.0


def test_an_apex_on_another_root_is_elsewhere_and_a_short_one_is_not():
    made = traces(1)
    key, good = first(made)
    row, column = key.truth.canal_px[-1]
    for apex, elsewhere in (((row, column + 60), True), (key.truth.canal_px[-7], False)):
        canal = (*good.canal_px[:-1], apex)
        result = score_answers([(key, good.model_copy(update={"canal_px": canal}))])[0]
        assert result.missed is elsewhere


def test_another_cusp_and_a_click_on_the_way_from_it_are_not_elsewhere():
    key, good = first(traces(1))
    cusp, middle, apex = np.array(good.canal_px)[[0, 3, -1]]
    away = np.array([0.0, 1.0])
    for path in ((cusp + 120 * away, middle + 54 * away, apex), (cusp + 200 * away, apex)):
        result = score_answers([(key, good.model_copy(update={"canal_px": as_tuples(np.array(path))}))])[0]
        assert not result.missed


def test_the_hand_of_a_beginner_is_not_taken_for_another_tooth():
    """An apex mark of SD 0.5 mm lies a millimetre beside in one of twenty-five: a length all the same."""
    made, hand = traces(20), Marker(apex_mm=0.5, end_mm=0.2, click_mm=0.2)
    keys = keys_of(made.exercises, truth_of(made))
    answers = [answer for seed in range(10) for answer in attempt_of(made, hand, seed).answers]
    assert sum(result.missed for result in score_answers([(keys[a.task], a) for a in answers])) <= 2


@pytest.mark.parametrize("far", [1e9, 1e30, 1e82])
def test_marks_that_are_no_pixels_are_missed_without_a_warning(far):
    key, good = first(traces(1))
    path = as_tuples(np.random.default_rng(1).normal(size=(7, 2)) * far)
    assert score_answers([(key, good.model_copy(update={"canal_px": path, "reference_px": path}))])[0].missed


def test_marks_from_the_apical_end_are_read_by_their_apical_end():
    key, good = first(traces(1))
    result = score_answers([(key, good.model_copy(update={"canal_px": good.canal_px[::-1]}))])[0]
    assert abs(result.error_mm) < 0.5


def test_a_usual_hand_is_never_elsewhere():
    made, hand = traces(20), Marker(apex_mm=0.3, end_mm=0.1, click_mm=0.1)
    keys = keys_of(made.exercises, truth_of(made))
    for seed in range(10):
        answers = attempt_of(made, hand, seed).answers
        assert not [r for r in score_answers([(keys[a.task], a) for a in answers]) if r.missed]


def test_a_learner_who_skips_what_is_hard_does_not_pass():
    """Twelve good traces and eight that are a point: twelve of twelve would be within the band."""
    made = traces(20)
    good = attempt_of(made, CAREFUL, 1).answers
    point = ((600.0, 400.0), (600.0, 400.0), (600.0, 400.0))
    answers = [a if n < 12 else a.model_copy(update={"reference_px": point}) for n, a in enumerate(good)]
    keys = keys_of(made.exercises, truth_of(made))
    told = summarise("A1", score_answers([(keys[a.task], a) for a in answers]))
    assert (told.measured, told.missed) == (12, 8)
    assert told.within.value == pytest.approx(12 / 20)
    assert told.verdict != "passed"
    assert learner_row(told)["within_band"] == 0.6
    assert summarise("A1", score_answers([(keys[a.task], a) for a in answers[:12]])).verdict == "passed"


@pytest.mark.parametrize(("values", "missed", "inside"), [([0.1, 0.6], 3, 1), ([], 2, 0), ([0.2], 0, 1)])
def test_a_share_with_missed_ones_is_wilsons(values, missed, inside):
    found, n = share_within(values, 0.5, missed=missed), len(values) + missed
    peer = binomtest(inside, n).proportion_ci(0.95, method="wilson")
    assert (found.value, found.low, found.high) == pytest.approx((inside / n, peer.low, peer.high))


def test_feedback_says_where_and_draws_it_and_tells_no_length(tmp_path):
    made = build_set(
        course_items()[2:3],
        title="One",
        kind="self-study",
        secret=None,
        repeats=0,
        render=lambda scene, detector: np.full(scene.view.shape_px, 90, np.uint8),
    )
    publish(made, tmp_path / "set", tmp_path / "set.answers.json")
    key, good = first(made)
    attempt = attempt_with(made.exercises, [moved(good, key.task, beside)])
    assert parse_attempt(dump_attempt(attempt), "A01") == attempt
    told = give_feedback(made.exercises, truth_of(made), attempt)
    words = " ".join((*told.exercises[0].lines, *told.lines))
    assert "beside canal single" in words
    assert "1 without a usable length among them" in words
    assert "true length" not in words
    plain = told.as_dict()["exercises"][0]
    assert plain["interval"] is plain["interval_holds"] is plain["error_mm"] is None
    assert Ending(told, tmp_path / "set").picture("01") is not None
