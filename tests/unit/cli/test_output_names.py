"""Names of outputs of exercises, shapes, phantoms and batches: no other format, no file for a folder, no leak."""

from __future__ import annotations

import json

import pytest
from helpers.cases import MARK, write_image
from helpers.exercise_markers import CAREFUL, attempt_of, course

from radlength.exercise import save_attempt
from radlength.exercise.publish import publish


@pytest.fixture
def taught(tmp_path):
    """A set, its answers, and an attempt."""
    publish(course(), tmp_path / "set", tmp_path / "set.answers.json")
    save_attempt(attempt_of(course(), CAREFUL, 1, "A07"), tmp_path / "A07.attempt.json")
    return tmp_path


@pytest.mark.parametrize(
    ("words", "option", "name"),
    [
        (("shape", "preview"), "--png", "x.jpg"),
        (("shape", "preview"), "--plot", "x.pdf"),
        (("shape", "preview"), "--csv", "x.xlsx"),
        (("shape", "preview"), "--html", "x.png"),
        (("shape", "curvature"), "--plot", "x.svg"),
        (("shape", "curvature"), "--csv", "x.html"),
        (("shape", "curvature"), "--html", "x.csv"),
        (("shape", "compare"), "--png", "x.html"),
        (("shape", "compare"), "--csv", "x.png"),
        (("shape", "compare"), "--html", "x.pdf"),
    ],
)
def test_a_shape_is_written_under_no_name_of_another_format(marked, invoke, tmp_path, words, option, name):
    second = write_image(tmp_path / "after.png", seed=2)
    assert invoke("mark", second, *MARK).code == 0
    more = {"preview": ("--option", "25/.06"), "curvature": (), "compare": (second,)}[words[1]]
    done = invoke(*words, marked, *more, option, tmp_path / name)
    assert done.code == 1
    assert f"the name ends in .{name.split('.')[1]}, but what is written there is the" in done.err
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("class", "set", "A07.attempt.json", "--html"), "c.pdf"),
        (("class", "set", "A07.attempt.json", "--csv"), "c.xlsx"),
        (("new", "other", "--assessment", "1", "--answers"), "a.txt"),
        (("score", "set", "A07.attempt.json", "--pictures"), "p.png"),
        (("new",), "set.zip"),
        (("take", "set", "--learner", "B01", "--marks", "marks", "--out"), "B01.csv"),
    ],
    ids=["page", "gradebook", "answers", "pictures", "set", "attempt"],
)
def test_an_exercise_is_written_under_no_name_of_another_format(taught, invoke, monkeypatch, words, name):
    monkeypatch.chdir(taught)
    (taught / "marks").mkdir()
    (taught / "marks" / "02.marks.json").write_text(json.dumps({"apex_px": [900, 500]}), encoding="utf-8")
    before = sorted(taught.rglob("*"))
    done = invoke("exercise", *words, name)
    assert done.code == 1
    assert f"the name ends in .{name.split('.')[1]}" in done.err
    assert sorted(taught.rglob("*")) == before


@pytest.mark.parametrize(
    "words",
    [("phantom", "--seed", "1", "--out"), ("batch", ".", "--job", "check", "--out")],
    ids=["phantom", "batch"],
)
def test_no_folder_is_made_under_the_name_of_a_file(tmp_path, invoke, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    for name in ("out.csv", "out.PNG", "a/out.json"):
        done = invoke(*words, name)
        assert done.code == 1
        assert "is written there; the name of a folder" in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words", [("class", "--html", "c.html"), ("class", "--csv", "c.csv"), ("score", "--pictures", "p")]
)
def test_results_are_not_written_where_learners_look(taught, invoke, words):
    command, option, name = words
    done = invoke(
        "exercise", command, taught / "set", taught / "A07.attempt.json", option, taught / "set" / name
    )
    assert done.code == 1
    assert "would lie in the learners' folder" in done.err
    assert not (taught / "set" / name).exists()


def test_pictures_of_two_learners_lie_beside_each_other(taught, invoke, monkeypatch):
    drawn = []
    monkeypatch.setattr("radlength.exercise.picture.feedback_picture", lambda one, folder: (one, folder))
    monkeypatch.setattr("radlength.exercise.picture.write_png", lambda path, _: drawn.append(path.name))
    save_attempt(attempt_of(course(), CAREFUL, 2, "A08"), taught / "A08.attempt.json")
    for code in ("A07", "A08"):
        words = ("score", taught / "set", taught / f"{code}.attempt.json", "--pictures", taught / "p")
        assert invoke("exercise", *words).code == 0
    assert len(set(drawn)) == len(drawn) == 32
    assert "A08.01.feedback.png" in drawn


def test_options_that_would_be_passed_over_are_refused(tmp_path, invoke):
    for more, words in (
        (("--secret-file", tmp_path / "s"), "--secret-file goes with --assessment"),
        (("--images", tmp_path, "--pitch-mm", "0.1"), "--pitch-mm is of simulated images"),
    ):
        done = invoke("exercise", "new", tmp_path / "set", *more)
        assert done.code == 2
        assert words in " ".join(done.err.replace("│", " ").split())


def test_a_class_in_json_says_what_was_asked(taught, invoke):
    told = invoke("exercise", "class", taught / "set", taught / "A07.attempt.json", "--json").json
    assert (told["title"], told["kind"], told["band_mm"], told["target"]) == (
        "Course", "self-study", 0.5, 0.74,
    )  # fmt: skip
    assert told["set"] == course().exercises.set
