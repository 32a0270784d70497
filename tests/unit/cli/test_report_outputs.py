from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from helpers.cases import CANAL, points

from radlength.trade import CAUTION

KINDS = {"pdf": "--pdf", "html": "--html", "csv": "--csv", "json": "--json-file", "geojson": "--geojson"}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_written_with_the_caution(marked: Path, tmp_path: Path, invoke, kind: str) -> None:
    out = tmp_path / f"out.{kind}"
    done = invoke("report", marked, KINDS[kind], out)
    assert done.code == 0, done.err
    assert CAUTION in " ".join(done.out.split())
    content = out.read_bytes()
    if kind == "pdf":
        assert content.startswith(b"%PDF-")
    else:
        assert CAUTION.replace("'", "&#39;" if kind == "html" else "'") in content.decode("utf-8-sig")


def test_nothing_replaces_image_or_record(marked: Path, invoke) -> None:
    record = marked.with_name(marked.name + ".radlength.json")
    before = record.read_bytes(), marked.read_bytes()
    for place in (record, marked):
        done = invoke("report", marked, "--json-file", place)
        assert done.code == 1
        assert "would replace the" in done.err
    assert (record.read_bytes(), marked.read_bytes()) == before


def test_two_outputs_of_one_name_are_refused(marked: Path, tmp_path: Path, invoke) -> None:
    done = invoke("report", marked, "--csv", tmp_path / "x", "--pdf", tmp_path / "x")
    assert done.code == 1
    assert "two outputs have one name" in done.err
    assert not (tmp_path / "x").exists()


def test_share_says_to_look_at_the_picture(marked: Path, tmp_path: Path, invoke) -> None:
    done = invoke("report", marked, "--share", tmp_path / "out", "--json")
    assert done.code == 0, done.err
    assert "never removed" in done.json["reminder"]
    assert (tmp_path / "out" / "shared-1.png.radlength.json").exists()
    assert json.loads((tmp_path / "out" / "shared-1.png.radlength.json").read_text())["caution"] == CAUTION


def test_missing_extra_is_a_sentence(marked: Path, tmp_path: Path, invoke, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "jinja2", None)
    done = invoke("report", marked, "--html", tmp_path / "x.html")
    assert done.code == 1
    assert 'pip install "radlength[report]"' in done.err


def test_a_place_that_cannot_be_written(marked: Path, tmp_path: Path, invoke) -> None:
    done = invoke("report", marked, "--csv", tmp_path / "nowhere" / "x.csv")
    assert done.code == 1
    assert "the report cannot be written" in done.err


@pytest.mark.parametrize(
    ("option", "name"),
    [
        ("--pdf", "o.docx"),
        ("--png", "x.jpg"),
        ("--html", "x.pdf"),
        ("--csv", "x.xlsx"),
        ("--json-file", "x.csv"),
    ],
    ids=lambda value: value,
)
def test_a_name_of_another_format_is_refused(
    marked: Path, tmp_path: Path, invoke, option: str, name: str
) -> None:
    done = invoke("report", marked, option, tmp_path / name)
    assert done.code == 1
    assert f"the name ends in {Path(name).suffix}, but what is written there is the" in done.err
    assert "a name that ends in ." in done.err
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize("name", ["X.PNG", "picture"])
def test_capitals_and_no_ending_are_as_good(marked: Path, tmp_path: Path, invoke, name: str) -> None:
    assert invoke("report", marked, "--png", tmp_path / name).code == 0
    assert (tmp_path / name).read_bytes()[:4] == b"\x89PNG"


def test_a_case_is_not_written_under_the_name_of_another_format(tmp_path: Path, invoke) -> None:
    assert invoke("case", "demo", tmp_path / "demo").code == 0
    done = invoke("case", "report", tmp_path / "demo", "--pdf", tmp_path / "case.docx")
    assert (done.code, (tmp_path / "case.docx").exists()) == (1, False)
    assert "the name ends in .docx" in done.err


def test_a_typed_pitch_is_called_stated_wherever_people_read(image: Path, tmp_path: Path, invoke) -> None:
    canal = ("--tooth", "45", "--canal", "single", "--path", points(CANAL), "--pitch-mm", "0.1")
    assert invoke("mark", image, *canal).code == 0
    places = {kind: tmp_path / f"out.{kind}" for kind in ("html", "csv")}
    done = invoke("report", image, "--html", places["html"], "--csv", places["csv"])
    assert done.code == 0, done.err
    for text in (invoke("estimate", image).out, places["html"].read_text("utf-8")):
        assert "stated pitch over" in " ".join(text.split())
        assert "header pitch" not in " ".join(text.split())
    table = places["csv"].read_text("utf-8-sig")
    assert ",detector," in table
    assert "header" not in table
    (found,) = invoke("estimate", image, "--json").json["estimates"]
    assert found["method"] == "detector"
