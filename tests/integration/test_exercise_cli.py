"""The four commands end to end, on real renderings and on a real picture with a teacher's marks."""

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.exercise_markers import CAREFUL, answer_of, attempt_with, course, truth_of
from typer.testing import CliRunner

from radlength.cli.app import build_app
from radlength.exercise import load_set, load_truth, save_attempt
from radlength.exercise.publish import publish
from radlength.trade import CAUTION

DEMO = Path(__file__).parents[2] / "radlength" / "demo"


def run(*arguments, expect=0):
    done = CliRunner().invoke(build_app(), ["exercise", *map(str, arguments)])
    assert done.exit_code == expect, done.output
    return done


def as_json(*arguments, expect=0):
    return json.loads(run(*arguments, "--json", expect=expect).stdout)


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """Return a folder with the course, images without content, and three attempts."""
    folder = tmp_path_factory.mktemp("course")
    publish(course(), folder / "set", folder / "set.answers.json")
    rng, truth = np.random.default_rng(2), truth_of(course())
    for code in ("A01", "A02", "A03"):
        tasks = course().exercises.tasks
        answers = [answer_of(task, truth.answer(task.id), CAREFUL, rng, n) for n, task in enumerate(tasks, 1)]
        save_attempt(
            attempt_with(course().exercises, answers, code), folder / "attempts" / f"{code}.attempt.json"
        )
    return folder


def test_an_assessment_from_new_to_class(tmp_path):
    """Two exercises really rendered: the only slow part."""
    told = as_json("new", tmp_path / "set", "--assessment", 2, "--repeats", 1, "--pitch-mm", 0.12)
    assert told["kind"] == "assessment"
    assert (told["exercises"], told["folder"]) == (3, str(tmp_path / "set"))
    exercises = load_set(tmp_path / "set")
    truth = load_truth(Path(told["answers"]), exercises)
    marks = tmp_path / "marks"
    marks.mkdir()
    rng = np.random.default_rng(1)
    for order, task in enumerate(exercises.tasks, 1):
        answer = answer_of(task, truth.answer(task.id), CAREFUL, rng, order)
        given = {"reference": {"path_px": answer.reference_px}, "canal": {"path_px": answer.canal_px}}
        given = {key: value for key, value in given.items() if value["path_px"]}
        plain = {"apex_px": answer.apex_px, "choice": answer.choice, "seconds": 12, "clicks": 9}
        given |= {key: value for key, value in plain.items() if value is not None}
        (marks / f"{task.id}.marks.json").write_text(json.dumps(given), encoding="utf-8")
    attempt = tmp_path / "A07.attempt.json"
    taken = as_json("take", tmp_path / "set", "--learner", "A07", "--marks", marks, "--out", attempt)
    assert taken["finished"] is True
    assert taken["findings"] == []
    pictures = tmp_path / "pictures"
    feedback = as_json("score", tmp_path / "set", attempt, "--pictures", pictures)
    assert len(feedback["exercises"]) == 3
    assert feedback["caution"] == CAUTION
    marked = [one for one in feedback["exercises"] if one["parts_mm"] is not None]
    for one in marked:
        assert sum(one["parts_mm"].values()) == pytest.approx(one["error_mm"], abs=1e-9)
        picture = cv2.imread(str(pictures / f"A07.{one['task']}.feedback.png"))
        assert picture.shape[0] >= 960
        assert picture.shape[1] > 1000
    page, book = tmp_path / "class.html", tmp_path / "grades.csv"
    found = as_json("class", tmp_path / "set", attempt, "--html", page, "--csv", book)
    assert [one["learner"] for one in found["learners"]] == ["A07"]
    assert "A07" in page.read_text(encoding="utf-8")
    assert book.read_bytes().startswith(b"\xef\xbb\xbflearner")


def test_what_a_set_asks_is_told(published):
    text = run("take", published / "set").stdout
    assert "choices: accept, adjust, repeat" in text
    assert "Mark the instrument" in text
    told = as_json("take", published / "set")
    assert len(told["tasks"]) == 23
    assert "length_mm" not in json.dumps(told)


def test_a_half_finished_attempt_is_told_about_and_set_aside(published, tmp_path):
    marks = tmp_path / "marks"
    marks.mkdir()
    (marks / "02.marks.json").write_text('{"apex_px": [900, 500]}', encoding="utf-8")
    (marks / "03.marks.json").write_text('{"apex_px": [900, 500]}', encoding="utf-8")
    (marks / "05.marks.json").write_text('{"apex": [900, 500]}', encoding="utf-8")
    out = tmp_path / "B01.attempt.json"
    told = as_json("take", published / "set", "--learner", "B01", "--marks", marks, "--out", out)
    assert (told["answered"], told["finished"]) == (1, False)
    assert {finding["code"] for finding in told["findings"]} == {
        "answer-missing", "answer-parts", "marks-field",
    }  # fmt: skip
    scored = run("score", published / "set", out).stdout
    assert "22 exercises have no answer yet" in scored
    run("class", published / "set", published / "attempts", out, "--strict", expect=3)
    assert "scored: 0 learners" in run("class", published / "set", out, expect=1).stdout
    text = run("class", published / "set", published / "attempts", out).stdout
    assert "scored: 3 learners" in text
    assert "half-finished" in text
    assert "marks within ±0.5 mm" in text


def test_feedback_in_words(published):
    text = run("score", published / "set", published / "attempts" / "A01.attempt.json").stdout
    for words in ("Parts, mm:", "Published beside it:", "Tchorz 2018", "Your repeats scatter", "in disguise"):
        assert words in text, words
    assert " ".join(text.split()).endswith(CAUTION)


def test_the_words_of_new_and_take(tmp_path):
    """A real picture without rendering: what is told to a teacher and to a learner."""
    shutil.copy(DEMO / "invented-premolar.png", tmp_path / "a.png")
    shutil.copy(DEMO / "invented-premolar.marks.json", tmp_path / "a.marks.json")
    text = " ".join(
        run("new", tmp_path / "set", "--images", tmp_path, "--repeats", 0, "--aim", "apex").stdout.split()
    )
    for words in ("it holds every answer", "a name burned into the pixels is never removed", CAUTION):
        assert words in text
    assert load_set(tmp_path / "set").tasks[0].aim == "apex"
    truth = load_truth(tmp_path / "set.answers.json", load_set(tmp_path / "set")).answers[0]
    row, column = truth.canal_px[-1]
    (tmp_path / "01.marks.json").write_text(json.dumps({"apex_px": [row + 9, column]}), encoding="utf-8")
    out = tmp_path / "A1.attempt.json"
    text = run("take", tmp_path / "set", "--learner", "A1", "--marks", tmp_path, "--out", out).stdout
    assert "1 of 1 exercises in" in text
    told = run("score", tmp_path / "set", out).stdout
    assert "Difference from the teacher's marks" in told
    view = run("new", tmp_path / "b", "--images", tmp_path, "--aim", "view", expect=1).stderr
    assert "not known of a real image" in view


def test_refusals_are_one_line(published, tmp_path):
    cases = [
        (("new", published / "set"), "holds something already"),
        (("new", published / "set.answers.json"), "a file is where a folder should be"),
        (("new", published / "set.answers.json" / "set"), "a file is where a folder should be"),
        (("new", tmp_path / "a", "--answers", tmp_path / "a" / "x.json"), "in the learners' folder"),
        (("new", tmp_path / "a", "--rule", "guess"), "guess"),
        (("new", tmp_path / "a", "--images", tmp_path), "no marked image"),
        (("new", tmp_path / "a", "--pitch-mm", 5), "0.015 to 0.3"),
        (("new", tmp_path / "a", "--aim", "guess"), "an aim 'guess'"),
        (("take", published / "set", "--learner", "Anna"), "may be a name"),
        (("take", published / "set", "--learner", "A9", "--marks", tmp_path), "no answer"),
        (("take", tmp_path), "there is no set of exercises here"),
        (("score", published / "set", published / "set.answers.json"), "not a usable attempt"),
        (("class", published / "set", tmp_path), "there is no attempt"),
    ]
    for arguments, words in cases:
        done = run(*arguments, expect=1)
        assert words in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1
        assert as_json(*arguments, expect=1)["error"]["code"]
    run("new", tmp_path / "a", "--assessment", 2, "--images", tmp_path, expect=2)
    run("new", tmp_path / "a", "--images", tmp_path, "--aim", "trace", "--aim", "apex", expect=2)


def test_real_images_give_a_difference_and_never_an_error(tmp_path):
    """The package's own picture as if it were real, its marks as a teacher's; the marks are then its own answer."""
    shutil.copy(DEMO / "invented-premolar.png", tmp_path / "Mueller 1980.png")
    shutil.copy(DEMO / "invented-premolar.marks.json", tmp_path / "Mueller 1980.marks.json")
    told = as_json("new", tmp_path / "set", "--images", tmp_path, "--repeats", 1)
    assert told["kind"] == "real images"
    for path in (tmp_path / "set").iterdir():
        assert b"Mueller" not in path.read_bytes()
        assert "Mueller" not in path.name
    marks = tmp_path / "marks"
    marks.mkdir()
    exercises = load_set(tmp_path / "set")
    truth = load_truth(Path(told["answers"]), exercises)
    for task in exercises.tasks:
        answer = truth.answer(task.id)
        lists = {
            "format": "radlength-marks",
            "references": [{"path_px": answer.reference_px[::8]}],
            "canals": [{"path_px": answer.canal_px[::8]}],
        }
        (marks / f"{task.id}.marks.json").write_text(json.dumps(lists), encoding="utf-8")
    out = tmp_path / "A1.attempt.json"
    as_json("take", tmp_path / "set", "--learner", "A1", "--marks", marks, "--out", out)
    feedback = as_json("score", tmp_path / "set", out)
    for one in feedback["exercises"]:
        assert abs(one["difference_mm"]) < 0.01
        assert one["teacher_u_mm"] > 0.2
        assert "error_mm" not in one
        assert "true_mm" not in one
        assert set(one["parts_mm"]) == {"reference mark", "coronal mark", "path", "apex"}
    text = run("score", tmp_path / "set", out).stdout
    assert "Difference from the teacher's marks" in text
    assert "true " not in text.split("Published")[0]
    page = tmp_path / "class.html"
    run("class", tmp_path / "set", out, "--html", page)
    text = page.read_text(encoding="utf-8")
    assert "Difference from the teacher&#39;s marks" in text
    assert "Error against truth" not in text


def test_a_set_is_named_by_its_folder_its_file_or_from_inside(published, monkeypatch):
    attempt = published / "attempts" / "A01.attempt.json"
    wanted = as_json("score", published / "set", attempt)
    assert as_json("score", published / "set" / "set.json", attempt) == wanted
    monkeypatch.chdir(published / "set")
    assert as_json("score", ".", attempt) == wanted
    assert as_json("class", ".", attempt)["learners"][0]["learner"] == "A01"
    assert "choices: accept" in run("take", "set.json").stdout
