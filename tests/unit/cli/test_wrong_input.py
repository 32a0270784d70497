"""What people type wrong: decimal commas, folders that are not there, teeth that do not exist, outputs over inputs."""

from __future__ import annotations

import json
import shutil

import pytest
from helpers.cases import MARK, write_image
from helpers.exercise_markers import CAREFUL, attempt_of, course

from radlength.exercise import load_attempt, save_attempt
from radlength.exercise.publish import publish
from radlength.record import load_record, record_path

GAP = ("--gap", "905,452 960,455", "--rule", "tip within 1 mm")


def said(done):
    """Return what is said of an error, a box around it taken away."""
    return " ".join(done.err.replace("│", " ").split())


@pytest.mark.parametrize(
    "words",
    [
        ("mark", *MARK, "--offset-mm", "1,5"),
        ("confirm", "--canal", "MB", "--set-length", "19,5", *GAP),
        ("shape", "curvature", "--from-mm", "8,5"),
    ],
    ids=["mark", "confirm", "in a group"],
)
def test_a_decimal_comma_is_told(image, invoke, words):
    done = invoke(*words, image)
    assert done.code == 2
    assert "not a number; write decimals with a point, as 19.5" in said(done)


def test_a_choice_that_is_none_is_told_plainly(image, invoke):
    done = invoke("estimate", image, "--round", "up")
    assert done.code == 2
    assert "'up' is not one of 'nearest', 'down'." in said(done)
    assert "Value error" not in said(done)
    assert "not a whole number" in said(invoke("phantom", "--seed", "x", "--out", "p"))


@pytest.mark.parametrize("typed", ["0,025", "abc", "0.02,0.03,0.04", ""])
def test_a_pitch_that_is_none_is_told(image, invoke, typed):
    done = invoke("mark", image, "--pitch-mm", typed)
    assert done.code == 1
    assert f"--pitch-mm: {typed!r} as a pixel pitch" in done.err
    assert "write decimals with a point" in done.err


def test_a_pitch_of_one_number_or_two(image, invoke):
    for typed, pitch in (("0.025", (0.025, 0.025)), ("0.025, 0.03", (0.025, 0.03))):
        assert invoke("mark", image, "--pitch-mm", typed).code == 0
        assert load_record(image).stated_pitch_mm == pitch


def test_points_with_decimal_commas_are_never_read_as_other_points(image, invoke):
    words = ("--tooth", "46", "--canal", "MB", "--path", "80,5;410,5 905,5;452,5")
    done = invoke("mark", image, *words)
    assert done.code == 1
    assert "'80,5;410,5' is not a point" in done.err
    assert not record_path(image).exists()


@pytest.mark.parametrize("slip", ["2_78", "２７８", "278,"])
def test_digits_that_a_person_would_not_write_are_no_point(image, invoke, slip):
    done = invoke("mark", image, "--tooth", "46", "--canal", "MB", "--path", f"{slip},513 1080,663")
    assert done.code == 1
    assert "is not a point" in done.err


@pytest.mark.parametrize("command", ["estimate", "check", "report"])
def test_a_folder_of_records_that_is_none_is_told(marked, invoke, command, tmp_path):
    more = ("--csv", tmp_path / "x.csv") if command == "report" else ()
    for place in (tmp_path / "none", marked):
        done = invoke(command, marked, "--records", place, *more)
        assert done.code == 2
        assert "--records" in said(done)
        assert ("does not exist" if place != marked else "is a file") in said(done)


def test_nothing_is_traced_under_a_tooth_that_does_not_exist_or_without_clicks(image, invoke):
    words = ("--through", "80,410 500,431 960,455", "--tooth", "99", "--canal", "MB")
    done = invoke("trace", image, *words)
    assert done.code == 1
    assert "tooth 99 does not exist" in done.err
    for more in ((), ("--instrument",)):
        done = invoke("trace", image, "--tooth", "46", "--canal", "MB", *more)
        assert done.code == 1
        assert "nothing is clicked yet; two clicks or more; give them: --through" in done.err


@pytest.mark.parametrize(
    ("words", "options"),
    [
        (("shape", "preview"), ("--png", "--plot", "--csv", "--html")),
        (("shape", "curvature"), ("--plot", "--csv", "--html")),
        (("shape", "compare"), ("--png", "--csv", "--html")),
    ],
    ids=["preview", "curvature", "compare"],
)
def test_shape_replaces_neither_image_nor_record(marked, invoke, words, options, tmp_path):
    second = write_image(tmp_path / "after.png", seed=2)
    assert invoke("mark", second, *MARK).code == 0
    more = {"preview": ("--option", "25/.06"), "curvature": (), "compare": (second,)}[words[1]]
    link = tmp_path / "link.png"
    link.symlink_to(marked)
    files = [
        marked,
        record_path(marked),
        link,
        *([second, record_path(second)] if "compare" in words else []),
    ]
    before = {file: file.read_bytes() for file in files}
    for option in options:
        for file in files:
            done = invoke(*words, marked, *more, option, file)
            assert done.code == 1
            assert "would replace the" in done.err
    assert {file: file.read_bytes() for file in files} == before
    done = invoke(*words, marked, *more, "--csv", tmp_path / "one", "--html", tmp_path / "one")
    assert "two outputs have one name" in done.err


def test_one_picture_is_never_before_and_after(marked, invoke, tmp_path):
    second = tmp_path / "after.png"
    shutil.copy(marked, second)
    shutil.copy(record_path(marked), record_path(second))
    done = invoke("shape", "compare", marked, second)
    assert done.code == 1
    assert "both files hold the same picture" in done.err


def test_a_preview_does_not_replace_what_it_reads(marked, invoke, tmp_path):
    table = tmp_path / "taper.csv"
    table.write_text("mm,diameter_mm\n0,0.25\n16,1.0\n", encoding="utf-8")
    done = invoke("shape", "preview", marked, "--option", "own", "--table", f"own={table}", "--csv", table)
    assert done.code == 1
    assert "the table would replace the table that is read" in done.err


@pytest.fixture
def taught(tmp_path):
    """A set, its answers, and an attempt."""
    publish(course(), tmp_path / "set", tmp_path / "set.answers.json")
    save_attempt(attempt_of(course(), CAREFUL, 1), tmp_path / "A07.attempt.json")
    return tmp_path


def test_a_class_replaces_neither_set_nor_answers_nor_attempts(taught, invoke):
    files = [taught / "set" / "set.json", taught / "set.answers.json", taught / "A07.attempt.json"]
    before = [file.read_bytes() for file in files]
    for file in files:
        for option in ("--html", "--csv"):
            done = invoke("exercise", "class", taught / "set", taught / "A07.attempt.json", option, file)
            assert done.code == 1
            assert "would replace the" in done.err
    assert [file.read_bytes() for file in files] == before


@pytest.mark.parametrize(("option", "value"), [("--band-mm", "-1"), ("--band-mm", "nan"), ("--target", "7")])
def test_a_band_that_is_none_is_refused(taught, invoke, option, value):
    done = invoke("exercise", "class", taught / "set", taught / "A07.attempt.json", option, value)
    assert done.code == 1
    assert "above 0 up to 5 mm, and above 0 up to 1" in done.err


def test_an_attempt_replaces_no_other_file_and_loses_no_answer(taught, invoke):
    marks = taught / "marks"
    marks.mkdir()
    (marks / "02.marks.json").write_text(json.dumps({"apex_px": [900, 500]}), encoding="utf-8")
    attempt = taught / "A07.attempt.json"
    kept = {
        taught / "set.answers.json": "another file is there, and no attempt",
        taught / "set" / "01.png": "another file is there, and no attempt",
        attempt: "are there that would be lost",
    }
    code = load_attempt(attempt).learner
    for file, words in kept.items():
        before = file.read_bytes()
        done = invoke("exercise", "take", taught / "set", "--learner", code, "--marks", marks, "--out", file)
        assert done.code == 1
        assert words in done.err
        assert file.read_bytes() == before
    take = ("exercise", "take", taught / "set", "--marks", marks, "--out", taught / "new.json", "--learner")
    assert [invoke(*take, "B01").code for _ in range(2)] == [0, 0]
    assert "another attempt is there that would be lost" in invoke(*take, "B02").err


@pytest.mark.parametrize(
    "words",
    [
        ("check", ""),
        ("quality", ""),
        ("view", ""),
        ("batch", "", "--job", "check", "--out", "results"),
        ("batch", ".", "--job", "check", "--out", ""),
        ("estimate", "IMAGE", "--records", ""),
        ("estimate", "IMAGE", "--records="),
        ("case", "show", ""),
        ("dicom", "deidentify", "IMAGE", "", "--out", "copies"),
    ],
)
def test_an_empty_path_is_never_the_current_folder(marked, invoke, words, tmp_path, monkeypatch):
    """As a script gives one where a variable is not set."""
    monkeypatch.chdir(tmp_path)
    before = sorted(path.name for path in tmp_path.iterdir())
    done = invoke(*(str(marked) if word == "IMAGE" else word for word in words))
    assert done.code == 2
    assert "is empty" in done.err
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_an_empty_text_is_not_an_empty_path(marked, invoke):
    assert invoke("mark", marked, "--canal", "single", "--straight", "").code == 0


@pytest.mark.parametrize(
    "words", [("estimate",), ("shape", "curvature"), ("shape", "preview", "--option", "25/.06")]
)
def test_an_empty_canal_is_none_and_never_the_first(marked, invoke, words):
    more = ("--tooth", "45", "--canal", "other", "--path", "30,80 240,80")
    assert invoke("mark", marked, *more).code == 0
    done = invoke(*words, marked, "--canal", "")
    assert done.code == 1
    assert "no canal ''" in done.err


@pytest.mark.parametrize("command", ["estimate", "mark", "trace", "report", "confirm"])
def test_a_record_in_place_of_its_image_is_told(marked, invoke, command):
    done = invoke(command, record_path(marked))
    assert done.code == 2
    assert f"give its image, {marked.name}" in " ".join(done.err.replace("│", "").split())


@pytest.mark.parametrize(
    "words",
    [
        ("mark", "--tooth", "45", "--canal", "other", "--path"),
        ("mark", "--reference-name", "reference 1", "--reference-path"),
        ("confirm", "--canal", "single", "--set-length", 21, "--rule", "tip within 1 mm", "--gap"),
        ("trace", "--tooth", "45", "--canal", "single", "--through"),
    ],
)
def test_columns_before_rows_are_told_where_the_image_shows_it(marked, invoke, words):
    kept = load_record(marked)
    done = invoke(words[0], marked, *words[1:], "60,20 60,240")
    assert done.code == 1
    assert "give the row first" in done.err
    assert load_record(marked) == kept


def test_the_instrument_of_another_canal_is_not_changed_by_a_canal_that_borrows_it(marked, invoke):
    assert invoke("mark", marked, "--tooth", "45", "--canal", "B", "--path", "30,80 240,80").code == 0
    done = invoke("mark", marked, "--canal", "B", "--reference-length", 18)
    assert done.code == 1
    assert "lies in canal single" in done.err
    assert load_record(marked).references[0].length_mm == 21.0
    again = ("--reference-name", "reference 1", "--reference-length", 18)
    assert invoke("mark", marked, "--canal", "B", *again).code == 0
    assert load_record(marked).references[0].length_mm == 18.0


@pytest.mark.parametrize(
    ("edge", "told"), [("200,400 220,500", "outside the image"), ("60,20 60,240", "give the row first")]
)
def test_an_edge_that_is_not_on_the_image_is_told(image, invoke, edge, told):
    done = invoke("quality", image, "--edge", edge)
    assert done.code == 1
    assert told in done.err


@pytest.mark.parametrize(
    "words",
    [
        ("shape", "preview", "IMAGE", "--option", "25/.06", "--edge", "mesial:20,40 400,45"),
        ("shape", "preview", "IMAGE", "--option", "25/.06", "--edge", "mesial:20,-4 200,45"),
        ("shape", "compare", "IMAGE", "OTHER", "--wall", "a:20,40 400,45", "--wall", "b:20,50 200,55"),
    ],
)
def test_an_edge_of_the_root_that_is_not_on_the_image_is_told(marked, invoke, words, tmp_path):
    other = write_image(tmp_path / "other.png", seed=5) if "OTHER" in words else None
    if other is not None:
        assert invoke("mark", other, *MARK).code == 0
    done = invoke(*({"IMAGE": marked, "OTHER": other}.get(word, word) for word in words))
    assert done.code == 1
    assert "outside the image" in done.err
