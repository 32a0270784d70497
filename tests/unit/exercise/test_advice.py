"""Advice, repeatability, interval and a learner's own marking."""

import re
from dataclasses import replace

import numpy as np
import pytest
from helpers.exercise_markers import CAREFUL, PERFECT, Marker, answer_of, attempt_of, course, traces, truth_of

from radlength.exercise import Answer, ExerciseError, score_answers
from radlength.exercise.advice import NO_CAUSE, advice_for, causes, sentence
from radlength.exercise.classroom import keys_of
from radlength.exercise.feedback import give_feedback, told_difference_mm
from radlength.exercise.humans import FIGURES, figures_for
from radlength.exercise.interval import held_by
from radlength.exercise.marking import own_marking
from radlength.exercise.repeats import EXPECTED_SD_MM, Repeatability, repeatability
from radlength.exercise.score import PARTS, Result
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

CALM = Repeatability(3, None, dict.fromkeys(PARTS, 0.02), dict.fromkeys(PARTS, 3))
WILD = Repeatability(3, None, dict.fromkeys(PARTS, 0.4), dict.fromkeys(PARTS, 3))


def result(**parts):
    named = {name.replace("_", " "): value for name, value in parts.items()}
    return Result(
        "01", "trace", 2, "straight", "simulated", 1, measured_mm=21.0, true_mm=20.0, parts_mm=named
    )


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"apex": 0.5, "path": 0.1}, "too far out"),
        ({"apex": -0.5, "path": 0.1}, "too short"),
        ({"reference_mark": 0.5, "apex": 0.1}, "marked too short"),
        ({"coronal_mark": 0.5, "apex": 0.1}, "too far from the apex"),
        ({"path": -0.5, "apex": 0.1}, "cuts the bend"),
        ({"geometry": -0.9, "apex": 0.5}, "nobody could see"),
    ],
    ids=["apex far", "apex short", "instrument", "coronal", "path", "geometry"],
)
def test_the_largest_part_is_spoken_of(parts, words):
    assert words in advice_for(result(**parts), CALM)


def test_a_part_within_the_learners_own_scatter_is_not_spoken_of():
    assert advice_for(result(apex=0.5, path=0.1), WILD) == NO_CAUSE
    assert advice_for(result(apex=0.09, path=0.01), CALM) == NO_CAUSE
    assert "nobody could see" in advice_for(result(geometry=0.5, apex=0.1), WILD)


def test_a_few_repeats_reach_farther_than_many():
    few = replace(CALM, parts_pairs=dict.fromkeys(PARTS, 2))
    many = replace(CALM, parts_pairs=dict.fromkeys(PARTS, 50))
    assert few.reach_mm("apex") > 2 * many.reach_mm("apex")
    assert many.reach_mm("apex") == pytest.approx(2.0086 * np.sqrt(2) * 0.02, rel=1e-3)


def test_choices_and_what_cannot_be_measured():
    right = Result("01", "confirm", 6, "x", "simulated", 1, choice="repeat", right_choice="repeat")
    assert advice_for(right, CALM) == "Right."
    assert "“repeat”" in advice_for(replace(right, choice="accept"), CALM)
    assert "could not be measured" in advice_for(Result("01", "trace", 1, "x", "simulated", 1), CALM)


def test_every_part_has_advice_for_both_signs():
    assert all(sentence(part, sign).endswith(".") for part in PARTS for sign in (-1.0, 1.0))


def test_a_cause_needs_enough_exercises_and_enough_size():
    four = [result(apex=0.5 + 0.001 * n) for n in range(4)]
    assert not causes(four)[0].stands_out
    assert causes([*four, result(apex=0.5)])[0].stands_out
    assert not causes([result(apex=0.05 + 0.001 * n) for n in range(20)])[0].stands_out
    assert causes([result(apex=0.5)]) == ()


def test_repeatability_is_the_spread_that_was_put_in():
    """Forty simulated learners: Dahlberg's SD of three repeats each, pooled, is what the marks scatter by."""
    made, keys = course(), keys_of(course().exercises, truth_of(course()))
    squares = []
    for seed in range(40):
        attempt = attempt_of(made, Marker(apex_mm=0.2), seed)
        results = score_answers([(keys[answer.task], answer) for answer in attempt.answers])
        own = repeatability(results)
        assert own.pairs == 3
        assert own.parts_pairs["apex"] == 3
        squares.append(own.parts_sd_mm["apex"] ** 2)
    assert np.sqrt(np.mean(squares)) == pytest.approx(0.2, abs=0.05)


def test_without_repeats_the_expected_scatter_is_used():
    keys = keys_of(traces(3).exercises, truth_of(traces(3)))
    results = score_answers([(keys[a.task], a) for a in attempt_of(traces(3), CAREFUL).answers])
    own = repeatability(results)
    assert (own.pairs, own.own) == (0, None)
    assert own.parts_sd_mm["apex"] == EXPECTED_SD_MM["apex"]
    assert own.reach_mm("apex") == pytest.approx(1.96 * np.sqrt(2) * 0.3)


def test_the_interval_is_that_of_an_estimate_from_the_same_marks():
    made = traces(2)
    key = keys_of(made.exercises, truth_of(made))["01"]
    answer = answer_of(key.task, key.truth, CAREFUL, np.random.default_rng(1), 1)
    held = held_by(key, answer)
    reference = Reference(
        path_px=answer.reference_px, length_mm=key.truth.reference_mm, limit_mm=0.25, canal="single"
    )
    plain = estimate_length(Canal("45", "single", answer.canal_px), reference)
    assert held.length.value_mm == pytest.approx(plain.canal_length.value_mm, abs=1e-6)
    assert held.length.high_mm == pytest.approx(plain.canal_length.high_mm, abs=1e-6)
    assert held.holds
    wide = held_by(key, answer, Marking(apex_mm=1.0))
    assert wide.length.u_mm > held.length.u_mm
    far = answer.model_copy(update={"canal_px": (*answer.canal_px[:-1], (1239.0, 400.0))})
    assert not held_by(key, far).holds


def test_there_is_no_interval_without_marks():
    keys = keys_of(course().exercises, truth_of(course()))
    for answer in attempt_of(course(), PERFECT).answers:
        held = held_by(keys[answer.task], answer)
        assert (held is None) == (answer.choice is not None)
        if held is not None:
            assert held.holds
    collapsed = Answer(task="01", order=1, reference_px=((5.0, 5.0), (5.0, 5.0)))
    assert held_by(keys["01"], collapsed) is None


def test_own_marking_is_the_spread_that_was_put_in_and_feeds_an_estimate():
    made = traces(20)
    keys = keys_of(made.exercises, truth_of(made))
    marker = Marker(apex_mm=0.25, end_mm=0.12, click_mm=0.06, apex_bias_mm=0.5)
    pairs = [(keys[a.task], a) for s in range(10) for a in attempt_of(made, marker, s).answers]
    own = own_marking(pairs)
    found = own.marking
    assert found.apex_mm == pytest.approx(0.25, rel=0.15)
    assert found.stop_mm == pytest.approx(0.12, rel=0.15)
    assert found.tip_mm == pytest.approx(0.12, rel=0.15)
    assert found.path_mm == pytest.approx(0.06, rel=0.15)
    assert [finding.code for finding in own.findings] == ["marking-biased"]
    assert all(own.high_mm[name] > getattr(found, name) for name in own.high_mm)
    answer = pairs[0][1]
    reference = Reference(path_px=answer.reference_px, length_mm=20.0, limit_mm=0.1)
    usual, theirs = (
        estimate_length(Canal("45", "single", answer.canal_px), reference, marking=marking)
        for marking in (Marking(), found)
    )
    assert theirs.canal_length.u_mm != usual.canal_length.u_mm


def test_marks_surer_across_a_root_than_along_it_keep_their_spread_along():
    """The SD of both directions together was 0.29 mm for 0.40 along and 0.10 across: an interval by it held 0.84."""
    rng, made = np.random.default_rng(260806), traces(20)
    keys = keys_of(made.exercises, truth_of(made))
    pairs = []
    for answer in [
        a for s in range(10) for a in attempt_of(made, Marker(end_mm=0.05, click_mm=0.05), s).answers
    ]:
        key = keys[answer.task]
        canal = np.array(answer.canal_px)
        way = key.canal.steps[-1] / key.canal.lengths[-1]
        off_mm = rng.normal(0, 0.4) * way + rng.normal(0, 0.1) * np.array([-way[1], way[0]])
        canal[-1] = key.canal.points[-1] / key.pitch + off_mm / key.mm_per_unit / key.pitch
        pairs.append((key, answer.model_copy(update={"canal_px": tuple(map(tuple, canal))})))
    own = own_marking(pairs)
    assert own.marking.apex_mm == pytest.approx(0.40, rel=0.15)
    assert own.findings == ()


def test_marks_to_one_side_are_told_beside_their_spread():
    """The SD is about the learner's own mean: an interval by it leaves the habit out."""
    made = traces(20)
    always_short = attempt_of(made, Marker(apex_mm=0.1, end_mm=0.05, click_mm=0.05, apex_bias_mm=-0.4))
    told = " ".join(give_feedback(made.exercises, truth_of(made), always_short).lines)
    assert re.search(r"Your marks of the apex lie 0\.[34]\d mm coronally of the true ones on average", told)
    steady = attempt_of(made, Marker(apex_mm=0.1, end_mm=0.05, click_mm=0.05))
    assert "on average: the SD" not in " ".join(give_feedback(made.exercises, truth_of(made), steady).lines)


def test_a_cause_beyond_its_scatter_is_told_beside_a_larger_one_within():
    """Apex marks that always scatter so far are no news; a bend cut short by one who else follows it is."""
    uneven = replace(WILD, parts_sd_mm=WILD.parts_sd_mm | {"path": 0.02})
    assert "cuts the bend" in advice_for(result(apex=0.5, path=-0.4), uneven)
    assert advice_for(result(apex=0.5, path=-0.05), uneven) == NO_CAUSE


def test_geometry_is_most_of_an_error_only_where_it_is():
    assert advice_for(result(geometry=0.3, apex=0.2, path=0.2), WILD) == NO_CAUSE
    assert "too far out" in advice_for(result(geometry=0.5, apex=0.4, path=0.2), CALM)
    assert "nobody could see" in advice_for(result(geometry=0.5, apex=0.2, path=0.2), CALM)


def test_few_marks_are_told_and_too_few_refused():
    made = traces(6)
    keys = keys_of(made.exercises, truth_of(made))
    pairs = [(keys[a.task], a) for a in attempt_of(made, CAREFUL).answers]
    own = own_marking(pairs)
    assert own.counts["apex_mm"] == 6
    assert {finding.code for finding in own.findings} == {"marking-few"}
    with pytest.raises(ExerciseError, match="too few marks"):
        own_marking([])


def test_published_figures_have_a_source_and_stand_beside_their_aim():
    assert all(figure.source and figure.aims for figure in FIGURES)
    assert {figure.source for figure in figures_for("trace")} >= {"Tchorz 2018, Eur Endod J 4:28-32"}
    assert figures_for("reference")


def test_feedback_is_plain_data_and_says_the_parts():
    made = course()
    feedback = give_feedback(made.exercises, truth_of(made), attempt_of(made, CAREFUL, 3))
    told = feedback.as_dict()
    assert Marking(**told["marking"]) == feedback.marking.marking
    assert told["marking_counts"]["apex_mm"] == 13
    words = " ".join(told["summary"])
    assert "apex_mm 0." in words
    assert "95 % of such errors lie between -" in words
    assert len(told["exercises"]) == 23
    for one in told["exercises"]:
        if one["parts_mm"] is not None:
            assert sum(one["parts_mm"].values()) == pytest.approx(one["error_mm"], abs=1e-9)
            assert one["interval"]["low_mm"] < one["interval"]["high_mm"]
            assert one["published"]
        else:
            assert one["right_choice"]


def test_measured_true_and_difference_agree_as_they_are_told():
    made, seen = course(), 0
    for seed in range(6):
        feedback = give_feedback(made.exercises, truth_of(made), attempt_of(made, CAREFUL, seed))
        for line in (line for one in feedback.exercises for line in one.lines):
            told = re.fullmatch(
                r"Canal length ([\d.]+) mm; true ([\d.]+) mm: (?:([\d.]+) mm too (long|short)|equal)\.", line
            )
            if told is not None:
                sign = {"long": 1, "short": -1, None: 0}[told[4]]
                assert float(told[1]) - float(told[2]) == pytest.approx(sign * float(told[3] or 0), abs=1e-9)
                seen += 1
    assert seen > 60


@pytest.mark.parametrize(
    ("measured", "true", "told"),
    [(20.5760, 20.5849, 0.0), (20.5749, 20.5751, -0.01), (20.584, 20.571, 0.01), (None, 20.0, 0.0)],
)
def test_a_difference_is_that_of_the_numbers_beside_it(measured, true, told):
    result = Result("01", "trace", 1, "easy", "simulated", 1, measured_mm=measured, true_mm=true)
    assert told_difference_mm(result) == told
