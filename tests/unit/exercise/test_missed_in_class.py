"""A class in which nearly everybody missed something is still told how it agrees, and nobody who missed is left out."""

import numpy as np
import pytest
from helpers.exercise_markers import Marker, attempt_of, traces, truth_of
from scipy.stats import f_oneway

from radlength.exercise import score_answers
from radlength.exercise.class_agreement import agree
from radlength.exercise.classroom import keys_of
from radlength.exercise.learner import summarise


def on_another_tooth(answer):
    return answer.model_copy(
        update={"canal_px": tuple((row, column + 120) for row, column in answer.canal_px)}
    )


def class_of(missed):
    """Return thirty learners, of whom each missed as many exercises as is said, by a canal marked on another tooth."""
    made, learners = traces(20), []
    keys, rng = keys_of(made.exercises, truth_of(made)), np.random.default_rng(260807)
    for number in range(30):
        bias_mm = 0.5 if missed(number) > 5 else float(rng.normal(0, 0.1))
        marker = Marker(apex_mm=0.3, end_mm=0.1, click_mm=0.1, apex_bias_mm=bias_mm)
        answers = list(attempt_of(made, marker, number).answers)
        for place in range(missed(number)):
            at = (number + place) % 20
            answers[at] = on_another_tooth(answers[at])
        results = score_answers([(keys[answer.task], answer) for answer in answers])
        learners.append(summarise(f"A{number:02d}", results))
    return made, learners


def test_a_class_in_which_each_missed_one_is_told_how_it_agrees():
    made, learners = class_of(lambda number: 1)
    found = agree(made.exercises, learners)
    assert (found.learners, found.exercises, found.whole) == (30, 20, 0)
    assert abs(found.bias.value) < 0.15
    assert found.lower.low < found.lower.value < found.upper.value < found.upper.high
    assert found.icc is None


def test_learners_who_miss_most_count_in_the_bias_of_the_class():
    """Ten of thirty set the apex too far out and miss eight exercises: without them the class would look unbiased."""
    made, learners = class_of(lambda number: 8 if number < 10 else 0)
    found = agree(made.exercises, learners)
    assert (found.learners, found.whole) == (30, 20)
    means = [np.mean([r.error_mm for r in one.results if r.error_mm is not None]) for one in learners]
    assert found.bias.value == pytest.approx(np.mean(means))
    assert found.bias.value > np.mean(means[10:]) + 0.1
    assert found.icc is not None


def test_the_spread_is_that_of_an_analysis_of_variance():
    """Oracle: F of `scipy`; between learners, each of whom missed two, the variance is (MSB - MSW) / m."""
    made, learners = class_of(lambda number: 2)
    errors = [[r.error_mm for r in one.results if r.error_mm is not None] for one in learners]
    within = sum(np.var(one) * len(one) for one in errors) / (30 * 17)
    between = (f_oneway(*errors).statistic - 1) * within / 18
    assert between > 0
    assert agree(made.exercises, learners).sd == pytest.approx(np.sqrt(between + within), rel=1e-9)
