from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers.cases import CANAL, points, write_image

from radlength.trade import CAUTION


def test_not_estimated_yet_then_agrees(marked: Path, invoke) -> None:
    assert "22.10 mm from the marks: not estimated yet" in invoke("check", marked).out
    invoke("estimate", marked)
    done = invoke("check", marked, "--strict")
    assert done.code == 0
    assert "22.10 mm stored, 22.10 mm from the marks: agrees" in done.out
    assert "estimate, not confirmed" in done.out
    assert CAUTION in " ".join(done.out.split())


def test_the_record_may_be_named_instead(marked: Path, invoke) -> None:
    by_record = invoke("check", marked.with_name("tooth.png.radlength.json"), "--json")
    assert by_record.code == 0
    assert by_record.json == invoke("check", marked, "--json").json


def test_a_folder_is_no_image(tmp_path: Path, invoke) -> None:
    done = invoke("check", tmp_path)
    assert done.code == 1
    assert done.err.count("\n") == 1


def test_marks_changed_after_the_estimate_differ(marked: Path, invoke) -> None:
    invoke("estimate", marked)
    shorter = points([*CANAL[:4], (236.0, 60.0)])
    invoke("mark", marked, "--tooth", "45", "--canal", "single", "--path", shorter)
    assert "differs" in " ".join(invoke("check", marked).out.split())
    done = invoke("check", marked, "--strict", "--json")
    assert done.code == 3
    row = done.json["canals"][0]
    assert row["verdict"].startswith("differs")
    assert {"canal length value", "working length value"} <= set(row["differing"])


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (("--reference-limit", "0.5"), "canal length high"),
        (("--offset-mm", "0.5"), "working length value"),
    ],
    ids=["limit", "terminus"],
)
def test_a_changed_assumption_differs(marked: Path, invoke, change: tuple[str, str], where: str) -> None:
    invoke("estimate", marked)
    words = ["--canal", "single", *change]
    if change[0] == "--reference-limit":
        words += ["--reference-path", "20,60 120,60 230,60", "--reference-length", "21"]
        words += ["--reference-name", "reference 1"]
    assert invoke("mark", marked, *words).code == 0
    assert where in invoke("check", marked, "--json").json["canals"][0]["differing"]


def test_pixels_changed_are_refused(marked: Path, invoke) -> None:
    write_image(marked, seed=9)
    done = invoke("check", marked)
    assert done.code == 1
    assert "another image" in done.err


def test_a_damaged_record_is_refused_and_kept(marked: Path, invoke) -> None:
    path = marked.with_name("tooth.png.radlength.json")
    path.write_text(path.read_text("utf-8")[:-40], "utf-8")
    before = path.read_bytes()
    for command in ("check", "estimate"):
        done = invoke(command, marked)
        assert done.code == 1
        assert done.err.count("\n") == 1
    assert path.read_bytes() == before


def test_an_unknown_key_is_refused(marked: Path, invoke) -> None:
    path = marked.with_name("tooth.png.radlength.json")
    raw = json.loads(path.read_text("utf-8"))
    del raw["sha256"]
    path.write_text(json.dumps(raw | {"patient": "invented"}), "utf-8")
    done = invoke("check", marked, "--json")
    assert done.code == 1
    assert "patient" in done.json["error"]["message"]


def test_why_a_confirmation_lapsed_is_said(marked: Path, invoke) -> None:
    invoke("estimate", marked)
    gap = ("--set-length", "21.5", "--gap", "235,60 241,60")
    invoke("confirm", marked, "--canal", "single", *gap, "--rule", "tip within 1 mm")
    first = invoke("check", marked, "--json").json
    assert first["status"] == "confirmed on an image"
    assert "not_confirmed" not in first["canals"][0]
    shorter = points([*CANAL[:4], (236.0, 60.0)])
    invoke("mark", marked, "--tooth", "45", "--canal", "single", "--path", shorter)
    row = invoke("check", marked, "--json").json["canals"][0]
    assert row["not_confirmed"].startswith("The length-confirmation image of")
    assert "accepted on older marks" in " ".join(invoke("check", marked).out.split())
    assert "not confirmed: The length-confirmation image" in " ".join(
        invoke("check", marked.parent).out.split()
    )
