"""A set made again from its answers, and what is said of a set that nobody can pass."""

from __future__ import annotations

import csv
import json
from dataclasses import replace

import pytest
from helpers.exercise_markers import CAREFUL, attempt_of, course, traces

import radlength.exercise as room
from radlength.exercise import SealedTruth, build_set, save_attempt
from radlength.exercise.files import dump_truth, edition_of, seal_of
from radlength.exercise.publish import publish
from radlength.exercise.texts import SIMULATED
from radlength.trade import CAUTION


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
    same = invoke(
        "exercise", "new", tmp_path / "c", *words, "--secret-file", tmp_path / "a.answers.json", "--json"
    )
    assert same.json["same_set"] is True
    assert "not the set of the answers" not in done.out


def test_it_is_said_when_old_answers_make_another_set(tmp_path, quick, invoke):
    """So they do with another option, and from a version that draws other exercises."""
    words = ("--assessment", "2", "--aim", "trace")
    assert invoke("exercise", "new", tmp_path / "a", *words, "--repeats", "0").code == 0
    again = (*words, "--repeats", "1", "--secret-file", tmp_path / "a.answers.json")
    done = invoke("exercise", "new", tmp_path / "b", *again)
    assert "This is not the set of the answers that the secret was read from" in " ".join(done.out.split())
    assert invoke("exercise", "new", tmp_path / "c", *again, "--json").json["same_set"] is False
    (tmp_path / "s").write_text(json.loads((tmp_path / "a.answers.json").read_text())["secret"])
    bare = (*words, "--repeats", "0", "--secret-file", tmp_path / "s", "--json")
    alone = invoke("exercise", "new", tmp_path / "d", *bare)
    assert alone.json["same_set"] is None


@pytest.mark.parametrize("kind", ["simulated", "real"])
def test_every_word_and_file_of_a_set_says_whether_its_cases_are_invented(tmp_path, invoke, kind):
    made = course()
    if kind == "real":
        made = replace(made, exercises=made.exercises.model_copy(update={"invented": False}))
        truth = SealedTruth.model_validate_json(made.truth)
        truth = truth.model_copy(update={"edition": edition_of(made.exercises)})
        sealed = dump_truth(truth)
        exercises = made.exercises.model_copy(update={"seal_sha256": seal_of(sealed)})
        made = replace(made, exercises=exercises, truth=sealed)
    publish(made, tmp_path / "set", tmp_path / "set.answers.json")
    attempt = save_attempt(attempt_of(made, CAREFUL, 1, "A07"), tmp_path / "A07.attempt.json")
    page, book = tmp_path / "c.html", tmp_path / "g.csv"
    for words in (
        ("take", tmp_path / "set"),
        ("score", tmp_path / "set", attempt),
        ("class", tmp_path / "set", attempt, "--html", page, "--csv", book),
    ):
        said = " ".join(invoke("exercise", *words).out.split())
        assert (SIMULATED in said) is (kind == "simulated"), words
        assert CAUTION in said
        told = invoke("exercise", *words, "--json").json
        assert told["invented"] is (kind == "simulated"), words
        assert told["caution"] == CAUTION
    assert ("every image is simulated, no patient" in page.read_text("utf-8")) is (kind == "simulated")
    rows = list(csv.DictReader(book.read_text("utf-8-sig").splitlines()))
    assert {row["images"] for row in rows} == {"simulated, no patient" if kind == "simulated" else "real"}


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
