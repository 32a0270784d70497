"""How long a class takes: 200 learners of 20 exercises and 3 repeats, from files to the page."""

import pytest
from helpers.exercise_markers import CAREFUL, attempt_of, course, truth_of

from radlength.exercise import save_attempt
from radlength.exercise.classroom import attempt_files, keys_of, score_class
from radlength.exercise.page import class_page
from radlength.exercise.score import score_answers

LEARNERS = 200
TARGET_S = 5.0
"""Asked for: the class scored on two cores. Looked at by whoever runs the benchmark, never asserted."""


@pytest.fixture(scope="module")
def attempts(tmp_path_factory):
    folder = tmp_path_factory.mktemp("attempts")
    for number in range(LEARNERS):
        code = f"A{number:03d}"
        save_attempt(attempt_of(course(), CAREFUL, number, code), folder / f"{code}.attempt.json")
    return attempt_files([folder])


def test_class_of_200_from_files(benchmark, attempts):
    truth = truth_of(course())
    found = benchmark.pedantic(score_class, args=(course().exercises, truth, attempts), rounds=3)
    assert len(found.learners) == LEARNERS


def test_class_page_of_200(benchmark, attempts):
    found = score_class(course().exercises, truth_of(course()), attempts)
    assert "A199" in benchmark(lambda: class_page(found))


def test_4600_answers_in_memory(benchmark):
    keys = keys_of(course().exercises, truth_of(course()))
    pairs = [(keys[answer.task], answer) for answer in attempt_of(course(), CAREFUL).answers] * LEARNERS
    assert len(benchmark.pedantic(score_answers, args=(pairs,), rounds=3)) == 23 * LEARNERS
