"""Errors and their parts: they sum up, a perfect marker has none, and every mark is blamed for its own."""

from dataclasses import replace

import numpy as np
import pytest
from helpers.exercise_markers import (
    CAREFUL,
    PERFECT,
    Marker,
    answer_of,
    as_tuples,
    attempt_of,
    course,
    length_by_hand,
    traces,
    truth_of,
)
from hypothesis import example, given, settings
from hypothesis import strategies as st

from radlength.exercise import Answer, Key, score_answers
from radlength.exercise.classroom import keys_of
from radlength.exercise.score import MARKS, PARTS


def keys(made):
    return keys_of(made.exercises, truth_of(made))


def scored(made, marker, seed=0):
    found, attempt = keys(made), attempt_of(made, marker, seed)
    return score_answers([(found[answer.task], answer) for answer in attempt.answers])


def test_a_perfect_marker_adds_nothing_and_misses_only_what_nobody_could_see():
    results = scored(course(), PERFECT)
    marked = [result for result in results if result.parts_mm is not None]
    assert len(marked) == 16
    for result in marked:
        assert result.own_mm == pytest.approx(0.0, abs=2e-3), result.task
        assert result.error_mm == pytest.approx(result.parts_mm["geometry"], abs=2e-3)
        if result.level != "bend along the beam":
            assert abs(result.error_mm) < 0.05, result.task
    assert all(result.correct for result in results if result.correct is not None)


def test_a_bend_along_the_beam_is_geometry_and_too_short():
    bent = [r for r in scored(course(), PERFECT) if r.level == "bend along the beam"]
    assert bent
    assert all(r.parts_mm["geometry"] < -0.05 for r in bent)


@settings(max_examples=60, deadline=None)
@example(seed=1, tremor=0.5, clicks=13, bias=-1.0)  # a path that folds back
@given(
    seed=st.integers(0, 2**32 - 1),
    tremor=st.floats(0, 0.6),
    clicks=st.integers(2, 14),
    bias=st.floats(-1.5, 1.5),
)
def test_parts_sum_to_the_error_for_any_marks(seed, tremor, clicks, bias):
    made = traces(4)
    marker = Marker(tremor, tremor, tremor, bias, clicks=clicks)
    for result, answer in zip(
        scored(made, marker, seed), attempt_of(made, marker, seed).answers, strict=True
    ):
        if result.parts_mm is None:
            continue
        assert set(result.parts_mm) == set(PARTS)
        assert sum(result.parts_mm.values()) == pytest.approx(result.error_mm, abs=1e-9)
        truth = truth_of(made).answer(result.task)
        assert result.measured_mm == pytest.approx(length_by_hand(truth, answer), rel=2e-4)


@settings(max_examples=50, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    moved=st.sets(st.sampled_from(["reference mark", "coronal mark", "apex"]), max_size=3),
    wander=st.booleans(),
)
def test_a_mark_that_is_true_has_no_share_whatever_the_others_do(seed, moved, wander):
    made = traces(4)
    rng = np.random.default_rng(seed)
    key = list(keys(made).values())[int(rng.integers(4))]
    answer = answer_of(key.task, key.truth, PERFECT, rng, 1)
    canal, tool = np.array(answer.canal_px), np.array(answer.reference_px)
    if "reference mark" in moved:
        tool += rng.normal(0, 8, tool.shape)
    if "coronal mark" in moved:
        canal[0] += rng.normal(0, 8, 2)
    if "apex" in moved:
        canal[-1] += rng.normal(0, 8, 2)
    if wander:
        canal[1:-1] += rng.normal(0, 5, canal[1:-1].shape)
    marks = {"canal_px": as_tuples(canal), "reference_px": as_tuples(tool)}
    result = score_answers([(key, answer.model_copy(update=marks))])[0]
    for part in {"reference mark", "coronal mark", "apex"} - moved:
        assert result.parts_mm[part] == pytest.approx(0.0, abs=2e-3), part
    if not moved and not wander:
        assert result.own_mm == pytest.approx(0.0, abs=2e-3)


def one_mark_moved(path, index, by_px):
    moved = np.array(path)
    moved[index] += by_px
    return as_tuples(moved)


@pytest.mark.parametrize(
    ("part", "sign"), [("reference mark", -1), ("coronal mark", 1), ("apex", 1)], ids=str
)
def test_a_moved_mark_is_blamed_and_no_other(part, sign):
    made = traces(3, level="straight", first=900)
    found, rng = keys(made), np.random.default_rng(0)
    for task in made.exercises.tasks:
        key = found[task.id]
        answer = answer_of(task, key.truth, PERFECT, rng, 1)
        field, index, by = {
            "reference mark": ("reference_px", -1, (10.0, 0.0)),
            "coronal mark": ("canal_px", 0, (-10.0, 0.0)),
            "apex": ("canal_px", -1, (10.0, 0.0)),
        }[part]
        apical = np.sign(answer.canal_px[-1][0] - answer.canal_px[0][0])  # upper roots point up
        moved = one_mark_moved(getattr(answer, field), index, apical * np.array(by))
        answer = answer.model_copy(update={field: moved})
        result = score_answers([(key, answer)])[0]
        moved = result.parts_mm.pop(part)
        assert sign * moved == pytest.approx(0.3, abs=0.06)
        others = [value for name, value in result.parts_mm.items() if name != "geometry"]
        assert max(map(abs, others)) < 0.03


def test_a_cut_bend_is_the_path():
    made = traces(6)
    found, rng = keys(made), np.random.default_rng(0)
    for task in made.exercises.tasks:
        key = found[task.id]
        answer = answer_of(task, key.truth, PERFECT, rng, 1)
        cut = answer.model_copy(update={"canal_px": (answer.canal_px[0], answer.canal_px[-1])})
        parts = score_answers([(key, cut)])[0].parts_mm
        assert parts["path"] < -0.1
        assert max(abs(parts[name]) for name in MARKS if name != "path") < 0.05


def test_marks_made_backwards_are_turned_and_told():
    made = traces(1)
    key = keys(made)["01"]
    answer = answer_of(key.task, key.truth, PERFECT, np.random.default_rng(0), 1)
    turned = answer.model_copy(
        update={"canal_px": answer.canal_px[::-1], "reference_px": answer.reference_px[::-1]}
    )
    right, read = score_answers([(key, answer), (key, turned)])
    assert read.error_mm == pytest.approx(right.error_mm, abs=1e-9)
    assert [finding.code for finding in read.findings] == ["marked-backwards"] * 2


def test_a_bad_answer_among_good_ones_leaves_them_as_they_are():
    made = traces(2)
    found, rng = keys(made), np.random.default_rng(1)
    good = answer_of(found["01"].task, found["01"].truth, CAREFUL, rng, 1)
    point = good.canal_px[0]
    collapsed = good.model_copy(update={"reference_px": (point,) * 8})
    empty = Answer(task="02", order=2)
    results = score_answers([(found["01"], collapsed), (found["01"], good), (found["02"], empty)])
    assert results[0].parts_mm is None
    assert [finding.code for finding in results[0].findings] == ["answer-unmeasurable"]
    alone = score_answers([(found["01"], good)])[0]
    assert results[1].parts_mm == pytest.approx(alone.parts_mm)
    assert [finding.code for finding in results[2].findings] == ["answer-missing"]


def test_marks_as_far_as_numbers_go_spoil_nothing():
    made = traces(2)
    found, rng = keys(made), np.random.default_rng(1)
    good = answer_of(found["01"].task, found["01"].truth, CAREFUL, rng, 1)
    far = good.model_copy(update={"canal_px": ((0.0, 0.0), (1e308, -1e308), (1e300, 1e308))})
    results = score_answers([(found["01"], far), (found["01"], good)])
    assert [finding.code for finding in results[0].findings] == ["answer-unmeasurable"]
    assert results[1].parts_mm is not None


def test_a_repeat_in_disguise_gives_the_same_error_at_its_own_size():
    made = course()
    truth = truth_of(made)
    repeats = [answer for answer in truth.answers if answer.repeat_of is not None]
    assert len(repeats) == 3
    assert {answer.mirrored for answer in repeats} == {True, False}
    results = {result.task: result for result in scored(made, PERFECT)}
    for answer in repeats:
        again, first = results[answer.task], results[answer.repeat_of]
        size = again.true_mm / first.true_mm
        assert again.error_mm == pytest.approx(first.error_mm * size, abs=1e-3)


def test_pixels_that_are_not_square_count_by_their_size():
    made = traces(1)
    task, truth = made.exercises.tasks[0], truth_of(made).answers[0]
    answer = answer_of(task, truth, CAREFUL, np.random.default_rng(3), 1)
    square = score_answers([(Key(task, truth), answer)])[0]

    def wide(path):
        return tuple((row, column / 2) for row, column in path)

    stretched = truth.model_copy(
        update={
            "canal_px": wide(truth.canal_px),
            "reference_px": wide(truth.reference_px),
            "pitch_mm": (truth.pitch_mm[0], 2 * truth.pitch_mm[1]),
        }
    )
    marks = answer.model_copy(
        update={"canal_px": wide(answer.canal_px), "reference_px": wide(answer.reference_px)}
    )
    assert score_answers([(Key(task, stretched), marks)])[0].error_mm == pytest.approx(square.error_mm)


def test_a_choice_that_is_not_on_the_list_is_wrong_and_told():
    made = course()
    key = next(key for key in keys(made).values() if key.task.aim == "confirm")
    result = score_answers([(key, Answer(task=key.task.id, order=1, choice="guess"))])[0]
    assert result.correct is False
    assert [finding.code for finding in result.findings] == ["choice-unknown"]


def test_no_part_is_named_that_was_not_asked_for():
    for result in scored(course(), replace(CAREFUL)):
        asked = {
            "reference": {"reference mark", "geometry"},
            "apex": {"apex", "geometry"},
            "trace": set(PARTS),
            "confirm": set(),
            "view": set(),
        }[result.aim]
        assert set(result.parts_mm or ()) == asked
