"""What a learner is told at the end: after the last exercise, of no assessment, with the answers only."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import pytest
from helpers.exercise_markers import CAREFUL, attempt_of, course, truth_of

from radlength.exercise import ExerciseError, save_set
from radlength.exercise.ending import told_at_the_end
from radlength.exercise.feedback import give_feedback
from radlength.exercise.files import answers_beside, folder_of
from radlength.exercise.publish import publish


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    publish(course(), tmp_path / "set", tmp_path / "set.answers.json")
    return tmp_path / "set"


def test_it_is_what_the_core_says(folder: Path) -> None:
    attempt = attempt_of(course(), CAREFUL, 3)
    ending = told_at_the_end(folder, attempt)
    feedback = give_feedback(course().exercises, truth_of(course()), attempt)
    assert ending.lines == feedback.lines
    assert [one.task for one in ending.exercises] == [task.id for task in course().exercises.tasks]
    for told, one in zip(ending.exercises, feedback.exercises, strict=True):
        assert told.lines[: len(one.lines)] == one.lines
        assert all(type(value) in (str, tuple) for value in asdict(told).values())
    picture = ending.picture("02")
    assert picture is not None
    assert picture.shape[2] == 3
    chosen = next(task.id for task in course().exercises.tasks if task.choices)
    assert ending.picture(chosen) is None


def test_not_before_the_last_exercise(folder: Path) -> None:
    attempt = attempt_of(course(), CAREFUL, 3)
    early = attempt.model_copy(update={"answers": attempt.answers[:-2], "finished": False})
    with pytest.raises(ExerciseError, match="2 exercises are left"):
        told_at_the_end(folder, early)


def test_not_of_an_assessment(folder: Path) -> None:
    save_set(course().exercises.model_copy(update={"kind": "assessment"}), folder)
    with pytest.raises(ExerciseError, match="assessment; feedback from whoever set it"):
        told_at_the_end(folder, attempt_of(course(), CAREFUL, 3))


def test_not_without_the_answers(folder: Path) -> None:
    answers_beside(folder).unlink()
    with pytest.raises(
        ExerciseError, match=r"the answers are not here; the teacher's file set\.answers\.json"
    ):
        told_at_the_end(folder, attempt_of(course(), CAREFUL, 3))


def test_answers_are_looked_for_beside_the_folder_wherever_it_is_named_from(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert answers_beside(folder) == folder.parent / "set.answers.json"
    assert answers_beside(Path("set")) == Path("set.answers.json")
    monkeypatch.chdir(folder)
    assert answers_beside(Path()) == folder.parent / "set.answers.json"
    assert answers_beside(folder_of(Path("set.json"))) == folder.parent / "set.answers.json"
    (folder / "in").mkdir()
    monkeypatch.chdir(folder / "in")
    assert answers_beside(Path("..")) == folder.parent / "set.answers.json"
