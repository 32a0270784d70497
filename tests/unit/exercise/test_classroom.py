"""A class: what does not count is named and set aside, the rest is scored; the gradebook and the page say so."""

import csv
import io
import json

import numpy as np
import pytest
from helpers.exercise_markers import (
    CAREFUL,
    Marker,
    answer_of,
    attempt_of,
    attempt_with,
    course,
    traces,
    truth_of,
)

from radlength.exercise import ExerciseError, save_attempt
from radlength.exercise.class_agreement import agree
from radlength.exercise.classroom import attempt_files, keys_of, score_class
from radlength.exercise.files import dump_attempt, parse_attempt
from radlength.exercise.gradebook import COLUMNS, gradebook_csv
from radlength.exercise.learner import verdict_of
from radlength.exercise.learning import class_curve, trend_against
from radlength.exercise.page import class_page
from radlength.trade import CAUTION


def class_folder(tmp_path, learners=6, made=None, marker=CAREFUL):
    made = made or course()
    for number in range(learners):
        code = f"A{number:02d}"
        save_attempt(attempt_of(made, marker, number, code), tmp_path / f"{code}.attempt.json")
    return tmp_path


def scored(folder, made=None, **more):
    made = made or course()
    return score_class(made.exercises, truth_of(made), attempt_files([folder]), **more)


def test_every_bad_attempt_is_named_and_the_rest_is_scored(tmp_path):
    folder = class_folder(tmp_path)
    made, full = course(), attempt_of(course(), CAREFUL, 30, "B01")
    half = attempt_with(made.exercises, list(full.answers[:9]), "B02")
    save_attempt(half, folder / "half.attempt.json")
    save_attempt(full.model_copy(update={"edition": "0" * 64}), folder / "old.attempt.json")
    save_attempt(attempt_of(traces(3), CAREFUL, 0, "B03"), folder / "other.attempt.json")
    raw = json.loads(dump_attempt(full))
    raw["answers"][1]["apex_px"] = [700.0, 400.0]
    (folder / "edited.attempt.json").write_text(json.dumps(raw), encoding="utf-8")
    (folder / "broken.attempt.json").write_text("{", encoding="utf-8")
    (folder / "list.attempt.json").write_text("[1]", encoding="utf-8")
    named = raw | {"learner": "Anna Example"}
    (folder / "named.attempt.json").write_text(json.dumps(named), encoding="utf-8")
    for seed in (1, 2):
        save_attempt(attempt_of(made, CAREFUL, seed, "C01"), folder / f"twice-{seed}.attempt.json")
    save_attempt(attempt_of(made, CAREFUL, 5, "A05"), folder / "A05-copy.attempt.json")
    unknown = (*full.answers[:-1], full.answers[-1].model_copy(update={"task": "99"}))
    save_attempt(full.model_copy(update={"answers": unknown}), folder / "unknown.attempt.json")

    found = scored(folder)
    assert [one.learner for one in found.learners] == [f"A{number:02d}" for number in range(6)]
    reasons = {aside.file: aside.code for aside in found.set_aside}
    assert reasons == {
        "half.attempt.json": "attempt-unfinished",
        "old.attempt.json": "attempt-other-edition",
        "other.attempt.json": "attempt-other-set",
        "edited.attempt.json": "attempt-edited",
        "broken.attempt.json": "exercise-json",
        "list.attempt.json": "exercise-json",
        "named.attempt.json": "attempt-field",
        "twice-1.attempt.json": "learner-doubled",
        "twice-2.attempt.json": "learner-doubled",
        "unknown.attempt.json": "attempt-tasks",
        "A05-copy.attempt.json": "attempt-copy",
    }
    for text in (gradebook_csv(found), class_page(found)):
        for file in reasons:
            assert file in text
        assert "Anna" not in text
    alone = scored(class_folder(tmp_path / "alone"))
    assert found.learners == alone.learners


def test_marks_that_two_hands_cannot_make_are_told(tmp_path):
    folder = class_folder(tmp_path, 3)
    copied = attempt_of(course(), CAREFUL, 1, "Z99")
    save_attempt(copied, folder / "Z99.attempt.json")
    found = scored(folder)
    assert found.alike == (("A01", "Z99"),)
    assert len(found.learners) == 4
    assert "A01, Z99: the same marks" in class_page(found)
    (folder / "Z99.attempt.json").unlink()
    assert scored(folder).alike == ()


def test_who_copies_and_changes_some_marks_is_told_too(tmp_path):
    """Half of the marks of one, the other half of another: three in one group. Two of twelve are no half."""
    made = traces(12)
    first, second, own = (attempt_of(made, CAREFUL, seed, f"B{seed}").answers for seed in (1, 2, 3))
    for number, answers in enumerate((first, second, (*first[:6], *second[6:]), (*first[:2], *own[2:]))):
        save_attempt(
            attempt_with(made.exercises, list(answers), f"C{number}"), tmp_path / f"C{number}.attempt.json"
        )
    assert scored(tmp_path, made).alike == (("C0", "C1", "C2"),)


@pytest.mark.parametrize("row", [5000.0, -1e308, 1e308], ids=["below", "far up", "far down"])
def test_a_mark_beside_the_image_sets_one_attempt_aside(tmp_path, row):
    folder, full = class_folder(tmp_path, 2), attempt_of(course(), CAREFUL, 9, "B01")
    at = next(n for n, answer in enumerate(full.answers) if answer.apex_px is not None)
    moved = full.answers[at].model_copy(update={"apex_px": (row, 400.0)})
    answers = (*full.answers[:at], moved, *full.answers[at + 1 :])
    save_attempt(full.model_copy(update={"answers": answers}), folder / "B01.attempt.json")
    found = scored(folder)
    assert [aside.code for aside in found.set_aside] == ["answer-outside"]
    assert len(found.learners) == 2


def test_the_gradebook_starts_no_formula_and_keeps_everybody(tmp_path):
    folder = class_folder(tmp_path, 3)
    evil = folder / "=cmd|' !A1.attempt.json"
    evil.write_text("{}", encoding="utf-8")
    made = course()
    titled = made.exercises.model_copy(update={"title": '=HYPERLINK("x")'})
    found = scored(folder)
    found = type(found)(titled, found.learners, found.set_aside)
    rows = list(csv.reader(io.StringIO(gradebook_csv(found))))
    assert rows[0][: len(COLUMNS)] == list(COLUMNS)
    assert len(rows) == 1 + 3 + 1
    assert len({len(row) for row in rows}) == 1
    for row in rows:
        numbers = {at for at, value in enumerate(row) if _number(value)}
        assert not any(value[:1] in "=+-@" and value for at, value in enumerate(row) if at not in numbers)
    assert rows[1][-1] == CAUTION


def _number(value):
    try:
        float(value)
    except ValueError:
        return False
    return True


def test_the_page_says_what_is_kept_and_how_to_erase_it(tmp_path):
    folder = class_folder(tmp_path, 3)
    page = class_page(scored(folder), keep_until="31 March 2027 <b>")
    first = CAUTION.split(".", maxsplit=1)[0]
    for words in (
        "a code, the marks",
        "Kept until 31 March 2027 &lt;b&gt;.",
        "To erase a learner, delete",
        first,
    ):
        assert words in page
    assert "No term was stated" in class_page(scored(folder))
    assert "simulated, no patient" in page
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in page


def test_erasing_a_learner_leaves_the_others_as_they_were(tmp_path):
    folder = class_folder(tmp_path, 5)
    before = scored(folder)
    (folder / "A02.attempt.json").unlink()
    after = scored(folder)
    assert [one for one in before.learners if one.learner != "A02"] == list(after.learners)
    assert "A02" not in class_page(after) + gradebook_csv(after)


def test_an_attempt_holds_no_name_no_time_of_day_and_no_machine():
    data = json.loads(dump_attempt(attempt_of(course(), CAREFUL)))
    assert set(data) == {
        "format", "version", "set", "edition", "learner", "finished", "answers", "caution", "digest",
    }  # fmt: skip
    assert {key for answer in data["answers"] for key in answer} == {
        "task", "order", "seconds", "clicks", "reference_px", "canal_px", "apex_px", "choice",
    }  # fmt: skip


@pytest.mark.parametrize("code", ["Anna", "anna1", "A", "A 1", "=1+1", "A" * 20 + "1", "ΑΒ1"], ids=str)
def test_a_learner_by_name_is_refused(code):
    data = json.loads(dump_attempt(attempt_of(course(), CAREFUL)))
    data["learner"] = code
    with pytest.raises(ExerciseError, match="never by name"):
        parse_attempt(json.dumps(data).encode(), "x")


def test_whoever_marks_well_passes_and_whoever_does_not_does_not(tmp_path):
    made = traces(20)
    save_attempt(attempt_of(made, Marker(0.05, 0.05, 0.05), 1, "G1"), tmp_path / "G1.attempt.json")
    save_attempt(attempt_of(made, Marker(1.5, 0.5, 0.1), 1, "W1"), tmp_path / "W1.attempt.json")
    good, wild = scored(tmp_path, made).learners
    assert (good.verdict, wild.verdict) == ("passed", "not passed")
    few = traces(3)
    one = score_class(few.exercises, truth_of(few), [_saved(tmp_path / "few", few)]).learners[0]
    assert one.within.value == 1.0
    assert one.verdict == "cannot tell yet"
    assert verdict_of(None) == "cannot tell yet"


def _saved(folder, made, code="F1"):
    return save_attempt(attempt_of(made, Marker(0.02, 0.02, 0.02), 1, code), folder / f"{code}.attempt.json")


def test_agreement_of_a_class_finds_the_spread_that_was_put_in(tmp_path):
    """Sixty learners with their own bias, SD 0.2 mm between and about 0.15 within: the sum is recovered."""
    made, rng = traces(12, level="straight", first=700), np.random.default_rng(8)
    for number, bias in enumerate(rng.normal(0.1, 0.2, 60)):
        marker = Marker(apex_mm=0.15, apex_bias_mm=bias)
        save_attempt(attempt_of(made, marker, number, f"A{number:02d}"), tmp_path / f"{number}.attempt.json")
    found = agree(made.exercises, scored(tmp_path, made).learners)
    assert found.sd == pytest.approx(0.25, abs=0.04)
    assert found.bias.low < 0.1 < found.bias.high
    assert found.upper.value == pytest.approx(0.1 + 1.96 * 0.25, abs=0.15)
    assert found.upper.low < found.upper.value < found.upper.high
    assert not found.small
    assert found.icc["(2,1)"].value < found.icc["(3,1)"].value


def test_one_learner_is_no_class(tmp_path):
    folder = class_folder(tmp_path, 1)
    found = scored(folder)
    told = agree(course().exercises, found.learners)
    assert told.small
    assert told.bias is None
    assert told.icc is None
    curve = class_curve(found.learners)
    assert trend_against(curve, found.learners[0]) is None
    assert "Few learners" in class_page(found)


def test_nobody_at_all_is_still_a_page(tmp_path):
    (tmp_path / "x.attempt.json").write_text("{}", encoding="utf-8")
    found = scored(tmp_path)
    assert found.learners == ()
    assert "0 learners scored, 1 attempt set aside" in class_page(found)
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(ExerciseError, match="there is no attempt"):
        attempt_files([empty])


def test_a_learner_who_gets_calmer_gains_on_the_class(tmp_path):
    made = traces(20)
    folder = class_folder(tmp_path, 12, made)
    full = attempt_of(made, Marker(), 0, "L1")
    keys, rng = keys_of(made.exercises, truth_of(made)), np.random.default_rng(4)
    answers = [
        answer_of(
            keys[a.task].task, keys[a.task].truth, Marker(apex_bias_mm=0.9 - 0.045 * a.order), rng, a.order
        )
        for a in full.answers
    ]
    save_attempt(attempt_with(made.exercises, answers, "L1"), folder / "L1.attempt.json")
    found = scored(folder, made)
    learner = next(one for one in found.learners if one.learner == "L1")
    trend = trend_against(class_curve(found.learners), learner)
    assert trend.low < trend.value < trend.high < 0


def test_an_exercise_without_its_answer_is_refused():
    truth = truth_of(course())
    short = truth.model_copy(update={"answers": truth.answers[1:]})
    with pytest.raises(ExerciseError, match="has no answer"):
        keys_of(course().exercises, short)


def test_the_page_of_the_class_says_what_an_unfinished_attempt_lacks(tmp_path):
    folder, made = class_folder(tmp_path), course()
    answers = attempt_of(made, CAREFUL, 30, "B02").answers
    save_attempt(
        attempt_with(made.exercises, [*answers[:4], *answers[6:]], "B02"), folder / "B02.attempt.json"
    )
    save_attempt(attempt_with(made.exercises, list(answers[:1]), "B03"), folder / "B03.attempt.json")
    found = scored(folder)
    assert [one.code for one in found.set_aside] == ["attempt-unfinished"] * 2
    many = len(made.exercises.tasks)
    page = class_page(found)
    assert f"B02: half-finished: 2 of {many} exercises without an answer: 05, 06;" in page
    rest = f" and {many - 13} more" if many > 13 else ""
    named = ", ".join(f"{number:02d}" for number in range(2, min(many, 13) + 1))
    assert f"B03: half-finished: {many - 1} of {many} exercises without an answer: {named}{rest};" in page
