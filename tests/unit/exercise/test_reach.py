"""A set too short for anybody to pass says so."""

from __future__ import annotations

import pytest
from helpers.exercise_markers import Marker, attempt_of, traces, truth_of
from scipy.stats import binomtest

from radlength.exercise import save_attempt
from radlength.exercise.classroom import attempt_files, score_class
from radlength.exercise.page import class_page
from radlength.exercise.reach import least_exercises, out_of_reach


@pytest.mark.parametrize("target", [0.1, 0.5, 0.74, 0.9, 0.99])
def test_the_least_number_is_where_the_interval_of_scipy_begins_at_the_target(target):
    least = least_exercises(target)
    low = [binomtest(n, n).proportion_ci(method="wilson").low for n in (least, max(least - 1, 1))]
    assert low[0] >= target
    assert low[1] < target or least == 1


@pytest.mark.parametrize(("exercises", "verdict"), [(10, "cannot tell yet"), (11, "passed")])
def test_whoever_makes_no_error_passes_where_the_page_does_not_say_that_nobody_can(
    tmp_path, exercises, verdict
):
    made = traces(exercises)
    save_attempt(attempt_of(made, Marker(), 1, "A01"), tmp_path / "A01.attempt.json")
    found = score_class(made.exercises, truth_of(made), attempt_files([tmp_path]))
    assert found.learners[0].verdict == verdict
    words = "With 10 exercises that ask for marks nobody can be shown to reach 74 %, however good: 11 would be enough."
    assert (words in class_page(found)) is (exercises == 10)
    assert bool(out_of_reach(made.exercises, found.target)) is (exercises == 10)


def test_all_of_all_is_shown_by_no_number():
    assert least_exercises(1.0) is None
    assert "no number of exercises" in out_of_reach(traces(3).exercises, 1.0)
