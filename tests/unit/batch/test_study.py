from dataclasses import asdict

import pytest

from radlength.batch import run_study, study_table
from radlength.batch.study import BLOCK, StudyRow, coverage, study_tasks
from radlength.batch.task import failed
from radlength.batch.work import work
from radlength.errors import BatchError


def here(tasks):
    return map(work, tasks)


def test_a_study_does_not_depend_on_the_order_of_its_blocks():
    forward = run_study(2, 5, here)
    assert run_study(2, 5, lambda tasks: [work(task) for task in tasks][::-1]) == forward
    assert run_study(2, 6, here) != forward
    assert len(forward) == 2 * 10 * 3


def test_blocks_cover_every_scene_once():
    tasks = list(study_tasks(BLOCK + 1, 0))
    assert sum(int(task.place.split()[-1]) for task in tasks) == 10 * (BLOCK + 1)
    assert len({task.place for task in tasks}) == len(tasks) == 20


def row(error, low=1.0, high=2.0):
    return StudyRow(0, 0, "header", error, low, high, 0.0)


def test_coverage_counts_misses_on_their_side():
    held, lower, below, above = coverage([row(0.9), row(1.1), row(-1.9), row(-2.1), row(0.0)])
    assert (held, below, above) == (0.6, 0.2, 0.2)
    assert lower == pytest.approx(0.1893, abs=1e-4)  # Clopper and Pearson 1934: 3 of 5, one-sided


def test_a_lost_block_is_not_passed_over():
    with pytest.raises(BatchError, match="a block of the study was lost"):
        run_study(1, 0, lambda tasks: [failed(task.place, "", "worker-died", "gone") for task in tasks])


def test_progress_and_the_table():
    told = []
    rows = run_study(1, 1, here, tell=lambda done, total: told.append((done, total)))
    assert told[-1] == (10, 10)
    lines = study_table(rows)
    assert len(lines) == 2 + 3 * 11 + 1
    assert set(asdict(rows[0])) >= {"error", "low", "high"}
