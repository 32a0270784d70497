"""An attempt from files: marks files of three kinds, what is missing, what is wrong."""

import json

import numpy as np
import pytest
from helpers.exercise_markers import PERFECT, attempt_of, course, traces
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.exercise import ExerciseError, collect_attempt, load_set
from radlength.exercise.files import load_attempt, parse_attempt
from radlength.exercise.publish import publish
from radlength.geometry import Assist
from radlength.length import Canal
from radlength.record import Record, save_record
from radlength.scale import Reference


@pytest.fixture
def folder(tmp_path):
    publish(traces(2), tmp_path / "set", tmp_path / "answers.json")
    return tmp_path / "set"


def test_what_the_window_saved_beside_the_image_counts(folder):
    from radlength.imaging import read_radiograph

    answers = {answer.task: answer for answer in attempt_of(traces(2), PERFECT).answers}
    for task in traces(2).exercises.tasks:
        answer, radiograph = answers[task.id], read_radiograph(folder / task.image)
        reference = Reference(path_px=answer.reference_px, length_mm=20.0, name="file")
        record = Record.new(radiograph).with_reference(reference)
        record = record.with_canal(Canal("45", "other", answer.canal_px[::2]))
        record = record.with_canal(Canal("45", "single", answer.canal_px), reference="file")
        save_record(record, folder / task.image)
    attempt, findings = collect_attempt(load_set(folder), folder, "A07", folder)
    assert attempt.finished
    assert findings == ()
    for answer in attempt.answers:
        assert np.allclose(answer.canal_px, answers[answer.task].canal_px, atol=1e-3)
        assert answer.apex_px is None


@pytest.mark.parametrize("helped", ["canal", "instrument"])
def test_marks_that_the_program_placed_are_no_answer(folder, helped):
    from radlength.imaging import read_radiograph

    task, answer = traces(2).exercises.tasks[0], attempt_of(traces(2), PERFECT).answers[0]
    placed = {
        name: (Assist(1, 3, "canal trace", "7", 0.9),) if name == helped else ()
        for name in ("canal", "instrument")
    }
    reference = Reference(
        path_px=answer.reference_px, length_mm=20.0, name="file", assists=placed["instrument"]
    )
    record = Record.new(read_radiograph(folder / task.image)).with_reference(reference)
    canal = Canal("45", "single", answer.canal_px, assists=placed["canal"])
    save_record(record.with_canal(canal, reference="file"), folder / task.image)
    with pytest.raises(ExerciseError, match=r"placed by the program \(canal trace\)"):
        collect_attempt(load_set(folder), folder, "A07", folder)


def test_marks_written_another_way_are_told_how(folder, tmp_path):
    (tmp_path / "01.marks.json").write_text('{"reference": [[1, 2], [3, 4]]}', encoding="utf-8")
    with pytest.raises(ExerciseError, match="reference is not written as it is asked for"):
        collect_attempt(load_set(folder), folder, "A07", tmp_path)


def test_a_record_of_other_pixels_is_not_taken(folder):
    from radlength.imaging import Radiograph

    other = Radiograph.from_array(np.zeros((1240, 940), np.uint8), name="01.png")
    save_record(Record.new(other), folder / "01.png")
    with pytest.raises(ExerciseError, match="no answer"):
        collect_attempt(load_set(folder), folder, "A07", folder)


def test_where_no_answer_counts_it_is_said_what_is_wrong_with_one(folder, tmp_path):
    (tmp_path / "01.marks.json").write_text('{"canal_px": [[1, 2], [3, 4]]}', encoding="utf-8")
    words = r"no answer that counts: 01\.marks\.json: unknown field 'canal_px'; apex_px, .*files NUMBER"
    with pytest.raises(ExerciseError, match=words):
        collect_attempt(load_set(folder), folder, "A07", tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{",
        '{"reference": 1}',
        '{"canal": {}}',
        '{"apex_px": [1, 2]}',
        '{"format": "radlength-marks", "canals": 3}',
        '{"format": "radlength-marks", "canals": [{}, {}]}',
        '{"reference": {"path_px": [[1, 2], [1, 2]]}}',
        "\ud800",
    ],
    ids=["empty", "list", "half", "number", "no path", "other", "no list", "two", "one place", "surrogate"],
)
def test_a_bad_file_is_named_and_the_other_counts(folder, tmp_path, text):
    marks = tmp_path / "marks"
    marks.mkdir()
    (marks / "01.marks.json").write_bytes(text.encode("utf-8", "surrogatepass"))
    good = attempt_of(traces(2), PERFECT).answers[1]
    told = {"reference": {"path_px": good.reference_px}, "canal": {"path_px": good.canal_px}}
    (marks / "02.marks.json").write_text(json.dumps(told), encoding="utf-8")
    attempt, findings = collect_attempt(load_set(folder), folder, "A07", marks)
    assert [answer.task for answer in attempt.answers] == ["02"]
    assert not attempt.finished
    assert [finding.subject for finding in findings] == ["exercise 01"]


def test_a_learner_by_name_is_refused(folder):
    with pytest.raises(ExerciseError, match="may be a name"):
        collect_attempt(load_set(folder), folder, "Anna", folder)


FIELDS = ["format", "version", "set", "edition", "learner", "answers", "task", "x"]
PLAIN = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)


def nested(inner):
    return st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(FIELDS), inner)


@settings(max_examples=80, deadline=None)
@given(st.recursive(PLAIN, nested))
def test_any_json_is_an_attempt_or_refused(data):
    with pytest.raises(ExerciseError, match=r"^x: "):
        parse_attempt(json.dumps(data).encode("utf-8", "surrogatepass"), "x")


def test_a_huge_or_missing_file_is_refused(tmp_path):
    huge = tmp_path / "huge.attempt.json"
    with huge.open("wb") as file:
        file.truncate(30_000_000)
    with pytest.raises(ExerciseError, match="larger than 20 MB"):
        load_attempt(huge)
    with pytest.raises(ExerciseError, match="cannot be read"):
        load_attempt(tmp_path / "none.attempt.json")
    (tmp_path / "deep.json").write_text("[" * 100_000, encoding="utf-8")
    with pytest.raises(ExerciseError, match="not JSON"):
        load_attempt(tmp_path / "deep.json")


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(ExerciseError, match="a file is where a folder should be"):
        publish(course(), tmp_path / "set", tmp_path / "file" / "answers.json")


def test_a_namesake_on_another_tooth_is_not_taken_for_the_canal_that_was_asked_for(folder):
    from radlength.imaging import read_radiograph

    task, answer = traces(2).exercises.tasks[0], attempt_of(traces(2), PERFECT).answers[0]
    beside = tuple((row, column - 200) for row, column in answer.canal_px)
    record = Record.new(read_radiograph(folder / task.image))
    record = record.with_reference(Reference(path_px=answer.reference_px, length_mm=20.0, name="file"))
    record = record.with_canal(Canal("44", "single", beside))
    record = record.with_canal(Canal("45", "single", answer.canal_px), reference="file")
    save_record(record, folder / task.image)
    attempt, _ = collect_attempt(load_set(folder), folder, "A07", folder)
    assert np.allclose(attempt.answers[0].canal_px, answer.canal_px, atol=1e-3)


def test_a_student_is_told_of_commas_exchanged_columns_and_millimetres_before_anything_is_handed_in(tmp_path):
    publish(course(), tmp_path / "set", tmp_path / "answers.json")
    marks, asked = tmp_path / "marks", {"apex", "reference"}
    marks.mkdir()
    answers = {answer.task: answer for answer in attempt_of(course(), PERFECT).answers}
    tasks = [task for task in course().exercises.tasks if task.aim in asked]
    low = [task for task in tasks if (answers[task.id].apex_px or (0, 0))[0] > task.columns]
    tasks = [low[0], *(task for task in tasks if task is not low[0])]
    for task, change in zip(tasks, ("exchanged", "comma", "millimetres", "right"), strict=False):
        answer = answers[task.id]
        path = answer.reference_px or (answer.apex_px,)
        if change == "exchanged":
            path = [(column, row) for row, column in path]
        elif change == "comma":
            path = [(int(row), 5, int(column), 5) for row, column in path]
        elif change == "millimetres":
            path = [(row * 0.03, column * 0.03) for row, column in path]
        given = {"reference": {"path_px": path}} if task.aim == "reference" else {"apex_px": path[0]}
        (marks / f"{task.id}.marks.json").write_text(json.dumps(given), encoding="utf-8")
    attempt, findings = collect_attempt(course().exercises, tmp_path / "set", "A07", marks)
    told = {finding.subject: str(finding) for finding in findings if finding.code != "answer-missing"}
    exchanged, comma, millimetres = (f"exercise {task.id}" for task in tasks[:3])
    assert set(told) == {exchanged, comma, millimetres}
    assert "the row comes first, then the column: exchange them" in told[exchanged]
    assert "write a decimal point, never a comma: 413.2" in told[comma]
    assert "write them so if these are millimetres" in told[millimetres]
    assert [answer.task for answer in attempt.answers] == [task.id for task in tasks[2:4]]
