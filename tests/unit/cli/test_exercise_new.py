"""A set made again from its answers, and what is said of a set that nobody can pass."""

from __future__ import annotations

import json

import pytest
from helpers.exercise_markers import CAREFUL, attempt_of, course, traces

import radlength.exercise as room
from radlength.exercise import build_set, save_attempt
from radlength.exercise.publish import publish


@pytest.fixture
def quick(monkeypatch):
    """Draw small images in this process."""

    def small(items, **more):
        return build_set(items, **(more | {"workers": 1, "shape_px": (400, 300), "pitch_mm": 0.1}))

    monkeypatch.setattr(room, "build_set", small)


def test_the_answers_of_an_assessment_make_the_same_images_again(tmp_path, quick, invoke):
    words = ("--assessment", "2", "--repeats", "0", "--aim", "trace")
    assert invoke("exercise", "new", tmp_path / "a", *words).code == 0
    done = invoke("exercise", "new", tmp_path / "b", *words, "--secret-file", tmp_path / "a.answers.json")
    assert done.code == 0, done.err
    pixels = [
        [task["pixel_sha256"] for task in json.loads((tmp_path / name / "set.json").read_text())["tasks"]]
        for name in "ab"
    ]
    assert pixels[0] == pixels[1]
    secret = json.loads((tmp_path / "a.answers.json").read_text())["secret"]
    assert secret not in done.out


def test_answers_of_the_course_hold_no_secret(tmp_path, invoke):
    publish(course(), tmp_path / "set", tmp_path / "set.answers.json")
    words = ("--assessment", "2", "--secret-file", tmp_path / "set.answers.json")
    done = invoke("exercise", "new", tmp_path / "b", *words)
    assert done.code == 1
    assert "drawn from no secret" in done.err
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("text", ["{", '{"secret": "12"}', "no secret"])
def test_what_is_no_secret_is_refused(tmp_path, invoke, text):
    (tmp_path / "s").write_text(text)
    done = invoke("exercise", "new", tmp_path / "b", "--assessment", "2", "--secret-file", tmp_path / "s")
    assert done.code == 1
    assert text not in done.err


@pytest.mark.parametrize("count", [2, 11])
def test_a_new_set_that_nobody_can_pass_says_so(tmp_path, quick, invoke, count):
    words = ("--assessment", str(count), "--aim", "trace", "--repeats", "0")
    said = " ".join(invoke("exercise", "new", tmp_path / "a", *words).out.split())
    few = "With 2 exercises that ask for marks nobody can be shown to reach 74 %, however good: 11 would be enough."
    assert (few in said) is (count == 2)
    told = invoke("exercise", "new", tmp_path / "b", *words, "--json").json["out_of_reach"]
    assert (told is None) is (count == 11)


@pytest.mark.parametrize("exercises", [3, 11])
def test_a_class_that_nobody_can_pass_says_so(tmp_path, invoke, exercises):
    made = traces(exercises)
    publish(made, tmp_path / "set", tmp_path / "set.answers.json")
    save_attempt(attempt_of(made, CAREFUL, 1, "A07"), tmp_path / "A07.attempt.json")
    words = ("exercise", "class", tmp_path / "set", tmp_path / "A07.attempt.json")
    said = " ".join(invoke(*words).out.split())
    assert ("nobody can be shown to reach 74 %" in said) is (exercises == 3)
    assert (invoke(*words, "--json").json["out_of_reach"] is None) is (exercises == 11)
