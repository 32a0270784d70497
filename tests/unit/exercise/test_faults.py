"""Sets that cannot be made or written: said soon, in words, and nothing half made stays."""

from __future__ import annotations

import os

import pytest
from helpers.exercise_markers import attempt_of, course

from radlength.exercise import ExerciseError, build_set, course_items, load_set, save_attempt
from radlength.exercise import publish as publishing
from radlength.exercise.build import check_set
from radlength.exercise.classroom import attempt_files
from radlength.exercise.files import folder_of
from radlength.exercise.publish import publish, refuse_inside


def test_more_exercises_than_a_set_may_have_are_refused_before_any_is_made():
    check_set("x", 3, 996, 996)
    with pytest.raises(ExerciseError, match="1000 exercises; 999 at most"):
        check_set("x", 3, 997, 997)


def never(scene, detector):
    del scene, detector
    raise AssertionError("drawn before it was refused")


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"title": "x" * 201}, "a title of 201 characters; 1 to 200"),
        ({"title": " "}, "a title of 0 characters"),
        ({"title": "x", "repeats": 99}, "99 hidden repeats of 13 marking exercises; 0 to 13"),
        ({"title": "x", "repeats": -1}, "-1 hidden repeats"),
    ],
    ids=["long", "blank", "many", "negative"],
)
def test_what_cannot_be_made_is_said_before_anything_is_drawn(told, words):
    with pytest.raises(ExerciseError, match=words):
        build_set(course_items(), kind="self-study", secret=None, render=never, **told)


@pytest.mark.parametrize("at", ["image", "set"])
@pytest.mark.parametrize("there", [True, False], ids=["empty folder", "no folder"])
def test_a_set_that_cannot_be_written_leaves_nothing(tmp_path, monkeypatch, at, there):
    folder, answers = tmp_path / "set", tmp_path / "set.answers.json"
    if there:
        folder.mkdir()
    written = []

    def full(pixels):
        written.append(pixels)
        if len(written) == 3 and at == "image":
            raise OSError(28, "No space left on device")
        return b"pixels"

    monkeypatch.setattr(publishing, "png", full)
    if at == "set":

        def no_set(exercises, place):
            raise ExerciseError("cannot be written", code=exercises.title, subject=str(place))

        monkeypatch.setattr(publishing, "save_set", no_set)
    with pytest.raises(ExerciseError, match="cannot be written"):
        publish(course(), folder, answers)
    assert [place.name for place in tmp_path.iterdir()] == (["set"] if there else [])
    monkeypatch.undo()
    publish(course(), folder, answers)
    assert load_set(folder) == course().exercises


def test_a_file_that_cannot_be_written_leaves_no_part(tmp_path, monkeypatch):
    def full(number):
        raise OSError(28, f"No space left on device {number}")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ExerciseError, match="cannot be written"):
        save_attempt(attempt_of(course()), tmp_path / "A01.attempt.json")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_may_be_called_anything(tmp_path):
    folder = tmp_path / "course.json"
    publish(course(), folder, tmp_path / "answers.json")
    assert load_set(folder) == load_set(folder / "set.json") == course().exercises
    assert folder_of(folder) == folder_of(folder / "set.json") == folder


def test_results_never_lie_in_the_learners_folder(tmp_path):
    (tmp_path / "set").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "set")
    for place in ("set", "set/pictures", "link/class.html", "other/../set/a/b.csv"):
        with pytest.raises(ExerciseError, match="would lie in the learners' folder"):
            refuse_inside(tmp_path / "set", tmp_path / place, "the page")
    for place in (None, tmp_path / "set.html", tmp_path / "settled"):
        refuse_inside(tmp_path / "set", place, "the page")


def test_a_folder_without_attempts_is_said_and_a_file_named_twice_comes_once(tmp_path):
    for name in ("class", "empty"):
        (tmp_path / name).mkdir()
    file = save_attempt(attempt_of(course()), tmp_path / "class" / "A01.attempt.json")
    assert attempt_files([file, tmp_path / "class", tmp_path / "class" / ".." / "class"]) == [file]
    with pytest.raises(ExerciseError, match="empty: there is no attempt in this folder"):
        attempt_files([file, tmp_path / "empty"])
