"""A shared copy of a case: no canary survives, every number does, and the copy checks itself."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
import tifffile
from helpers.made_case import APEX, NOON, full_case, with_canal, with_decision, with_length, with_locator
from helpers.records import PATH, canal, radiograph, reference

from radlength.errors import ReportError
from radlength.record import (
    Case,
    Record,
    add_canal,
    add_image,
    canal_state,
    correct_length,
    load_case,
    load_record,
    new_reference_point,
    note_canal,
    save_case,
    save_record,
    withdraw_length,
)
from radlength.record.case_files import case_file_findings
from radlength.record.case_state import CanalState
from radlength.record.models import StoredLength
from radlength.report import share_case

CANARY = "CANARY"
WHEN = NOON.replace(month=3, day=17, hour=11, minute=42, second=9)


def _canaried(folder: Path) -> Case:
    """A case with a canary in every text that can be typed."""
    case = full_case(folder)
    (folder / f"{CANARY}.png").write_bytes((folder / "tooth.tif").read_bytes())
    for name, stage in (("tooth.tif", "working length"), (f"{CANARY}.png", "other")):
        case = add_image(
            case,
            folder,
            name,
            stage=stage,
            label=f"{CANARY} label",
            view=f"{CANARY} view",
            taken=date(2026, 3, 17),
            who=CANARY,
            when=WHEN,
        )
    case = add_canal(
        case,
        "46",
        f"{CANARY} canal",
        reference_point=f"{CANARY} cusp",
        supernumerary=True,
        who=CANARY,
        when=WHEN,
    )
    label = case.canals[-1].label
    for ruler in (f"{CANARY} ruler", f"{CANARY} other"):
        case = with_length(
            case,
            canal=label,
            ruler=ruler,
            ruler_limit_mm=0.1,
            rule=f"{CANARY} rule",
            source=f"{CANARY} source",
            who=CANARY,
            measured=WHEN,
            when=WHEN,
        )
    case = with_locator(case, canal=label, who=CANARY, when=WHEN)
    event = case.events[-1]
    marked = event.model_copy(update={"locator": event.locator.model_copy(update={"mark": f"{CANARY} mark"})})
    case = case.model_copy(update={"events": (*case.events[:-1], marked)})
    number = case.lengths(label)[0].number
    case = correct_length(case, number, value_mm=20.5, why=f"{CANARY} why", who=CANARY, when=WHEN)
    case = with_length(case, 20.1, canal=label, who=CANARY, when=WHEN)
    case = withdraw_length(case, len(case.events), why=f"{CANARY} twice", who=CANARY, when=WHEN)
    case = note_canal(case, label, "other", other="46 MB", words=f"{CANARY} note", who=CANARY, when=WHEN)
    case = new_reference_point(case, "D", f"{CANARY} edge", why=f"{CANARY} reason", who=CANARY, when=WHEN)
    return with_decision(case, 20.5, canal=label, by=f"{CANARY} person", why=f"{CANARY} because", when=WHEN)


@pytest.fixture
def case(tmp_path: Path) -> Case:
    (tmp_path / "case").mkdir()
    return _canaried(tmp_path / "case")


def test_no_canary_survives(case: Case, tmp_path: Path) -> None:
    out = tmp_path / "out"
    shared = share_case(case, tmp_path / "case", out)
    assert {path.name for path in out.iterdir()} == set(shared.files)
    for path in out.iterdir():
        content = path.read_bytes().lower()
        for trace in (CANARY.lower(), "03-17", "11:42", "01-02", "tooth.tif"):
            assert trace.encode() not in content, (path.name, trace)
        assert CANARY.lower() not in path.name.lower()


def test_the_canaries_are_really_there(case: Case, tmp_path: Path) -> None:
    """The test above could fail: the case is full of them."""
    save_case(case, tmp_path / "case")
    text = (tmp_path / "case" / "radlength-case.json").read_text(encoding="utf-8")
    assert text.count(CANARY) >= 30


def test_every_number_stays_and_the_copy_checks_itself(case: Case, tmp_path: Path) -> None:
    out = tmp_path / "out"
    share_case(case, tmp_path / "case", out)
    copy = load_case(out)
    assert case_file_findings(copy, out) == ()
    assert [event.kind for event in copy.events] == [event.kind for event in case.events]
    pairs = list(zip(case.canals, copy.canals, strict=True))
    assert [new.label for _, new in pairs] == ["46 MB", "46 D", "46 supernumerary canal 3"]
    for old, new in pairs:
        before, after = canal_state(case, old.label), canal_state(copy, new.label)
        assert _numbers(after) == _numbers(before)
        assert (after.decision is None) == (before.decision is None)
    decision = copy.decision("46 supernumerary canal 3")
    assert (decision.value_mm, decision.by) == (20.5, "a person who is not named")
    assert copy.status == case.status
    assert copy.invented


def _numbers(state: CanalState) -> dict[int, StoredLength]:
    """The lengths by their number: days are cut to months, so that the order of measuring may be lost."""
    return {event.number: event.length for event in state.lengths}


def test_lengths_of_an_image_are_still_those_of_its_record(case: Case, tmp_path: Path) -> None:
    share_case(case, tmp_path / "case", tmp_path / "out")
    found = [event.found for event in load_case(tmp_path / "out").lengths("46 MB") if event.found]
    assert len(found) == 2
    assert all(one.when.day == 1 for one in found)


def test_what_is_shared_between_lengths_stays_shared(case: Case, tmp_path: Path) -> None:
    share_case(case, tmp_path / "case", tmp_path / "out")
    rulers = [
        e.ruler for e in load_case(tmp_path / "out").lengths("46 supernumerary canal 3", corrected=True)
    ]
    assert rulers == ["ruler 1", "ruler 2", None, "ruler 1", None]


def test_a_file_that_is_not_what_it_was_is_not_shared(case: Case, tmp_path: Path) -> None:
    with (tmp_path / "case" / "tooth.tif").open("ab") as file:
        file.write(b"x")
    with pytest.raises(ReportError, match=r"a file of the case is not what it was: tooth\.tif was edited"):
        share_case(case, tmp_path / "case", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_folder_with_something_in_it_is_refused(case: Case, tmp_path: Path) -> None:
    with pytest.raises(ReportError, match="the folder for the shared copy holds something"):
        share_case(case, tmp_path / "case", tmp_path / "case")


def test_a_case_without_images_is_shared(tmp_path: Path) -> None:
    case = with_decision(with_length(with_canal(), landmark=APEX), when=NOON + timedelta(days=40))
    shared = share_case(case, tmp_path, tmp_path / "out")
    assert shared.files == ("radlength-case.json", "READ-ME.txt")
    raw = json.loads((tmp_path / "out" / "radlength-case.json").read_text(encoding="utf-8"))
    assert raw["events"][-1]["entered"] == "2026-02-01T00:00:00Z"
    assert "Status: decided by a person." in (tmp_path / "out" / "READ-ME.txt").read_text(encoding="utf-8")


def test_a_canal_has_one_name_in_the_case_and_in_its_images(tmp_path: Path) -> None:
    """Two canals whose names were typed, marked in another order than the case has them: their lengths may not swap."""
    home, other = tmp_path / "case", [(row, column + 90.0) for row, column in PATH]
    home.mkdir()
    tifffile.imwrite(home / "tooth.tif", radiograph().stored)
    marked = [canal(name="second", path=other), canal(name="MB"), canal(name="first")]
    save_record(
        Record.new(radiograph(name="tooth.tif"), canals=marked, references=[reference()]), home / "tooth.tif"
    )
    case = with_canal(with_canal(name="first"), name="second")
    case = add_image(case, home, "tooth.tif", stage="working length", taken=NOON.date(), when=NOON)
    share_case(case, home, tmp_path / "out")
    (image,) = load_case(tmp_path / "out").images
    paths = {e.canal.label: e.canal.path_px for e in load_record(tmp_path / "out" / image.path).canals}
    first, second = (one.label for one in load_case(tmp_path / "out").canals)
    assert paths == {second: tuple(other), "46 MB": PATH, first: PATH}
    assert len({first, second}) == 2
