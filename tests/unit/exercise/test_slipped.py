"""Marks that slipped along the tooth are as long as those in place: the length counts as outside, and that is said."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.exercise_markers import CAREFUL, Marker, answer_of, as_tuples, attempt_of, traces, truth_of
from scipy.stats import binom, norm

from radlength.exercise import score_answers
from radlength.exercise.classroom import keys_of
from radlength.exercise.feedback import give_feedback
from radlength.exercise.learner import summarise
from radlength.exercise.place import ALONG_MM, SHIFTED

MARKS = {"stop": ("reference_px", 0), "tip": ("reference_px", -1), "reference point": ("canal_px", 0),
         "apex": ("canal_px", -1)}  # fmt: skip
HIDING = [("stop", 1, "tip", 1), ("reference point", 1, "apex", 1), ("tip", -1, "apex", -1),
          ("stop", -1, "reference point", -1), ("stop", 1, "apex", -1), ("tip", 1, "reference point", -1)]  # fmt: skip
ADDING = [
    ("stop", 1, "apex", 1),
    ("tip", 1, "reference point", 1),
    ("stop", 1, "tip", -1),
    ("reference point", 1, "apex", -1),
]


def first(made, marker=CAREFUL):
    task, truth = made.exercises.tasks[0], truth_of(made).answers[0]
    key = keys_of(made.exercises, truth_of(made))[task.id]
    return key, answer_of(task, truth, marker, np.random.default_rng(4), 1)


def slipped(key, answer, **far_mm):
    """Return an answer with ends moved apically along the true canal, millimetres in the tooth."""
    paths = {name: np.array(getattr(answer, name)) for name in ("reference_px", "canal_px")}
    step_mm = key.truth.length_mm / (len(key.truth.canal_px) - 1)
    for end, by_mm in far_mm.items():
        name, at = MARKS[end.replace("_", " ")]
        line = key.canal if name == "canal_px" else key.reference
        paths[name][at] = line.at(line.feet(paths[name][[at]] * key.pitch) + by_mm / step_mm)[0] / key.pitch
    return answer.model_copy(update={name: as_tuples(path) for name, path in paths.items()})


def all_slipped(key, answer, by_mm):
    return slipped(key, answer, stop=by_mm, tip=by_mm, reference_point=by_mm, apex=by_mm)


@pytest.mark.parametrize("by_mm", [2.0, -2.0])
def test_marks_that_slipped_together_are_as_long_and_count_as_outside(by_mm):
    key, good = first(traces(1))
    inside, outside = score_answers([(key, good), (key, all_slipped(key, good, by_mm))])
    assert abs(inside.error_mm) < 0.5
    assert abs(outside.error_mm) < 0.5
    assert (inside.shifted, outside.shifted, outside.missed) == (False, True, False)
    (found,) = outside.findings
    assert found.code == SHIFTED
    way = "apically" if by_mm > 0 else "coronally"
    assert all(f"{end} " in found.sentence for end in MARKS)
    assert found.sentence.count(way) == 4
    told = summarise("A1", [outside])
    assert (told.within.value, told.within_truth.value, told.shifted, told.measured) == (0.0, 0.0, 1, 1)
    assert told.bias_mm == pytest.approx(outside.error_mm)


@pytest.mark.parametrize(("one", "by", "other", "too"), HIDING)
def test_two_ends_whose_errors_cancel_are_found(one, by, other, too):
    key, good = first(traces(1))
    moved = slipped(key, good, **{one.replace(" ", "_"): 1.6 * by, other.replace(" ", "_"): 1.6 * too})
    result = score_answers([(key, moved)])[0]
    assert abs(result.own_mm) < 0.6
    assert result.shifted


@pytest.mark.parametrize(("one", "by", "other", "too"), ADDING)
def test_two_ends_whose_errors_add_speak_for_themselves(one, by, other, too):
    key, good = first(traces(1))
    moved = slipped(key, good, **{one.replace(" ", "_"): 1.6 * by, other.replace(" ", "_"): 1.6 * too})
    result = score_answers([(key, moved)])[0]
    assert abs(result.own_mm) > 2.4
    assert not result.shifted


@pytest.mark.parametrize("end", MARKS)
def test_one_end_alone_speaks_for_itself(end):
    key, good = first(traces(1))
    assert not score_answers([(key, slipped(key, good, **{end.replace(" ", "_"): 2.5}))])[0].shifted


def test_marks_from_the_apical_end_are_looked_at_by_their_apical_end():
    key, good = first(traces(1))
    moved = all_slipped(key, good, 2.0)
    back = moved.model_copy(update={"canal_px": moved.canal_px[::-1]})
    found = [[f for f in r.findings if f.code == SHIFTED] for r in score_answers([(key, moved), (key, back)])]
    assert found[0] == found[1] != []


def test_a_usual_hand_never_slips_and_a_beginners_rarely():
    """Stop and reference point are one click of these hands: beyond 1 mm they cancel. Apex and another are rarer."""
    made = traces(20)
    keys = keys_of(made.exercises, truth_of(made))
    for hand in (Marker(0.3, 0.1, 0.1), Marker(0.5, 0.3, 0.2)):
        answers = [answer for seed in range(10) for answer in attempt_of(made, hand, seed).answers]
        found = sum(result.shifted for result in score_answers([(keys[a.task], a) for a in answers]))
        end, apex = (2 * norm.sf(ALONG_MM / sd) for sd in (hand.end_mm, hand.apex_mm))
        assert found <= binom.ppf(0.999, len(answers), end + 3 * end * apex)


def test_a_learner_whose_marks_slip_does_not_pass_and_is_told():
    made = traces(20)
    keys = keys_of(made.exercises, truth_of(made))
    good = attempt_of(made, CAREFUL, 1)
    slips = [all_slipped(keys[a.task], a, 2.0) if n >= 8 else a for n, a in enumerate(good.answers)]
    told = give_feedback(made.exercises, truth_of(made), good.model_copy(update={"answers": tuple(slips)}))
    assert told.summary.verdict != "passed"
    assert summarise("A1", score_answers([(keys[a.task], a) for a in good.answers])).verdict == "passed"
    assert "12 with marks off along the tooth" in " ".join(told.lines)
    assert "look at each end by itself" in " ".join(told.exercises[-1].lines)
    assert "No cause stands out" not in told.exercises[-1].advice
