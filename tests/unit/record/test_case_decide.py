"""The decision: only a person makes one, it freezes, and it stands from one reference point only."""

import ast
import inspect
from pathlib import Path

import pytest
from helpers.made_case import APEX, NOON, full_case, with_canal, with_decision, with_length, with_locator

import radlength
from radlength.errors import RecordError
from radlength.length import ALGORITHM
from radlength.length.reconcile import RECONCILE_ALGORITHM
from radlength.record import Case, canal_state, correct_length, new_reference_point
from radlength.record.case_decide import decide
from radlength.trade import NOT_CONFIRMED

PACKAGE = Path(radlength.__file__).parent


def test_it_keeps_who_what_when_and_on_what():
    made = with_decision(with_length(with_canal())).decision("46 MB")
    assert (made.value_mm, made.by, made.entered, made.based_on) == (21.0, "invented person", NOON, (3,))
    assert made.algorithms == (f"comparison {RECONCILE_ALGORITHM}",)


def test_it_freezes_the_version_that_gave_its_lengths(tmp_path):
    made = with_decision(full_case(tmp_path)).decision("46 MB")
    assert f"length {ALGORITHM}" in made.algorithms
    assert made.software.startswith("radlength ")


def test_its_number_stays_when_lengths_are_added_or_corrected():
    case = with_decision(with_length(with_canal()))
    before = case.decision("46 MB")
    case = correct_length(with_locator(case), 3, value_mm=19.0, why="slipped", when=NOON)
    assert case.decision("46 MB") == before
    codes = [finding.code for finding in canal_state(case, "46 MB").findings]
    assert "decision-base-corrected" in codes


def test_another_decision_says_why():
    case = with_decision(with_length(with_canal()))
    with pytest.raises(RecordError, match="a decision in place of another without a reason"):
        with_decision(case, 20.0)
    case = with_decision(case, 20.0, why="second image")
    assert (case.decision("46 MB").value_mm, case.decision("46 MB").replaces) == (20.0, 4)


def test_another_reference_point_ends_it():
    case = with_decision(with_length(with_canal()))
    case = new_reference_point(case, "MB", "reduced cusp", why="cusp reduced", when=NOON)
    assert case.decision("46 MB") is None
    assert case.status == NOT_CONFIRMED
    state = canal_state(case, "46 MB")
    assert state.status_words == NOT_CONFIRMED
    assert "decision-of-another-reference-point" in [finding.code for finding in state.findings]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"by": " "}, "nobody decides"),
        ({"based_on": []}, "a decision that rests on nothing"),
        ({"based_on": [1]}, "event 1 is no length"),
        ({"based_on": [6]}, "event 6 is no length of 46 MB"),
        ({"value_mm": 2.0}, "a decided length of 2 mm; 5 to 60 mm"),
        ({"value_mm": float("nan")}, "a decided length of nan mm"),
    ],
    ids=["nobody", "nothing", "no-length", "other-canal", "too-short", "no-number"],
)
def test_a_decision_that_cannot_be_made(change, words):
    case = with_length(with_canal(with_length(with_canal()), name="D"), canal="46 D")
    with pytest.raises(RecordError, match=words):
        with_decision(case, **change)


def test_a_decision_before_any_length_is_refused():
    with pytest.raises(RecordError, match="there is no length of 46 MB from its present reference point"):
        decide(with_canal(), "46 MB", value_mm=21.0, landmark=APEX, short_mm=0.0, by="invented", based_on=[1])


def test_a_decision_on_a_corrected_length_is_refused():
    case = correct_length(with_length(with_canal()), 3, value_mm=20.0, why="slipped", when=NOON)
    with pytest.raises(RecordError, match="length 3 was corrected or withdrawn"):
        with_decision(case, based_on=[3])


def test_nothing_of_it_has_a_default():
    parameters = inspect.signature(decide).parameters
    needed = {name for name, one in parameters.items() if one.default is inspect.Parameter.empty}
    assert needed == {"case", "canal", "value_mm", "landmark", "short_mm", "by", "based_on"}


def test_only_one_place_makes_one_and_only_one_command_calls_it():
    """No code path makes a decision: the word stands in one module, and one command uses that module."""
    makers, callers = set(), set()
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        name = path.relative_to(PACKAGE).as_posix()
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module == "radlength.record.case_decide":
                callers.add(name)
            if isinstance(node, ast.ImportFrom) and node.module == "radlength.record.case_models":
                makers |= {name for one in node.names if one.name == "Decision"}
    assert makers - READERS == {"record/case_decide.py"}
    assert callers == {"cli/case_decide.py"}


READERS = {
    "record/case.py",
    "record/case_checks.py",
    "record/case_state.py",
    "record/case_status.py",
    "report/case_share.py",
}
"""They ask whether an event is a decision, or copy one; the tests below show that they make none."""


@pytest.mark.parametrize("name", sorted(READERS))
def test_readers_never_call_it(name):
    for node in ast.walk(ast.parse((PACKAGE / name).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            assert not (isinstance(node.func, ast.Name) and node.func.id == "Decision")
            if isinstance(node.func, ast.Attribute) and node.func.attr == "with_event":
                pytest.fail(f"{name} adds events")


def test_no_public_call_makes_one(tmp_path):
    """Every function of the record room that takes a case is called, and none of them decides."""
    import radlength.record as room
    from radlength.record import case_canals, case_images, case_lengths, case_state, case_store

    case = full_case(tmp_path)
    tried = {
        "add_canal": lambda: case_canals.add_canal(case, "47", "D", reference_point="cusp"),
        "new_reference_point": lambda: case_canals.new_reference_point(case, "46 MB", "cusp", why="reduced"),
        "note_canal": lambda: case_canals.note_canal(case, "46 MB", "ledge"),
        "add_image": lambda: case_images.add_image(
            case, tmp_path, "tooth.tif", stage="review", taken=NOON.date()
        ),
        "add_views": lambda: case_images.add_views(
            case_images.add_image(case, tmp_path, _second(tmp_path), stage="review", taken=NOON.date()),
            1,
            len(case.events) + 1,
            shift="mesial",
        ),
        "add_length": lambda: with_length(case),
        "add_length_of_image": lambda: case_lengths.add_length_of_image(
            case,
            "46 D",
            room.load_record(tmp_path / "tooth.tif"),
            1,
            flaring="not known",
            record_canal="46 MB",
        ),
        "correct_length": lambda: case_lengths.correct_length(
            case, case.lengths("46 D")[0].number, value_mm=20.0, why="slipped"
        ),
        "withdraw_length": lambda: case_lengths.withdraw_length(
            case, case.lengths("46 D")[0].number, why="twice"
        ),
        "canal_state": lambda: case_state.canal_state(case, "46 MB"),
        "save_case": lambda: case_store.save_case(case, tmp_path),
        "load_case": lambda: case_store.load_case(tmp_path),
        "dump_case": lambda: room.dump_case(case),
        "parse_case": lambda: room.parse_case(room.dump_case(case)),
        "case_path": lambda: room.case_path(tmp_path),
        "stated_length": lambda: room.stated_length(21.0, 0.5),
        "Case": Case.new,
    }
    of_cases = {name for name in room.__all__ if "case" in (getattr(room, name).__module__ or "")}
    assert of_cases == set(tried)
    for name, call in tried.items():
        result = call()
        if isinstance(result, Case):
            assert [
                result.decision(canal.label) for canal in result.canals if result.series(canal.label)
            ] == [None] * len(result.canals), name
            assert result.status == NOT_CONFIRMED
    assert b'"decision"' not in (tmp_path / "radlength-case.json").read_bytes()


def _second(folder):
    (folder / "second.tif").write_bytes((folder / "tooth.tif").read_bytes())
    return "second.tif"
