from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

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
