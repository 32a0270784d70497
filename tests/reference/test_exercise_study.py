"""A smaller study of planted biases, its seed from the commit; bounds that a sound study breaks once in 10^4.

Simulated learners on simulated scenes, true lengths known. Parts by Shapley 1953, four tests at once by Sidak 1967.
"""

import sys
from pathlib import Path

import numpy as np
import pytest
from helpers.exercise_markers import PERFECT, attempt_of, course, truth_of
from scipy.stats import binom

from radlength.exercise import score_answers
from radlength.exercise.advice import MATTERS_MM, NO_CAUSE, advice_for, advice_overall, causes
from radlength.exercise.classroom import keys_of
from radlength.exercise.repeats import repeatability

sys.path.insert(0, str(Path(__file__).parent))
import exercise_study as study
from validation import commit_seed

SETS, APEX_MM = 120, 0.15


@pytest.fixture(scope="module")
def found():
    return study.run(study.trace_sets(6, commit_seed()), SETS, APEX_MM, commit_seed())


def test_an_apical_bias_of_two_tenths_is_told(found):
    """Asked for: in at least 90 % of sets of 20, at an apex SD of 0.15 mm and 0.1 mm for every other mark."""
    assert found.told >= 0.9 * SETS
    assert found.wrong <= 0.05 * SETS


def test_false_alarms_are_rare(found):
    """Asked for: at most 5 %. More than this would come once in ten thousand at 5 %."""
    assert found.alarms <= int(binom.isf(1e-4, SETS, 0.05))


def test_the_size_of_the_bias_is_told_too():
    made = study.trace_sets(1, commit_seed() + 1)
    keys = list(keys_of(made[0].exercises, truth_of(made[0])).values())
    cause = study._named(keys, study.replace(study.HAND, apex_mm=0.05), 0.3, (commit_seed(), 9))
    assert cause.part == "apex"
    assert cause.mean_mm == pytest.approx(0.3, abs=0.1)
    assert cause.low_mm < cause.mean_mm < cause.high_mm


def test_a_perfect_marker_is_told_no_cause():
    keys = keys_of(course().exercises, truth_of(course()))
    results = score_answers([(keys[answer.task], answer) for answer in attempt_of(course(), PERFECT).answers])
    assert advice_overall(causes(results)) == NO_CAUSE
    own = repeatability(results)
    assert own.own.value < 1e-3
    told = {advice_for(r, own) for r in results if r.parts_mm and abs(r.parts_mm["geometry"]) <= MATTERS_MM}
    assert told == {NO_CAUSE}
    assert all(np.isfinite(list(own.parts_sd_mm.values())))
