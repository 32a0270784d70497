"""``radlength case report``: every form, and what it never replaces."""

from __future__ import annotations

from pathlib import Path

from radlength.trade import CAUTION, NOT_CONFIRMED


def test_report_writes_every_form_and_a_copy(measured, invoke, tmp_path):
    places = {kind: tmp_path / f"case.{kind}" for kind in ("pdf", "html", "csv", "json")}
    words = [f"--{'json-file' if kind == 'json' else kind}" for kind in places]
    given = [word for pair in zip(words, places.values(), strict=True) for word in pair]
    done = invoke("case", "report", measured, *given, "--share", tmp_path / "shared", "--json")
    assert done.json["status"] == NOT_CONFIRMED
    assert {kind: Path(done.json[kind]) for kind in places} == places
    assert all(place.stat().st_size > 300 for place in places.values())
    assert "burned into the pixels" in done.json["reminder"]
    assert NOT_CONFIRMED in places["html"].read_text(encoding="utf-8")
    assert CAUTION in places["csv"].read_text(encoding="utf-8-sig")
    again = invoke("case", "report", measured, "--html", tmp_path / "case.html")
    assert f"html written: {tmp_path / 'case.html'}" in again.out


def test_report_of_an_image_points_to_that_of_a_case(measured, invoke):
    done = invoke("report", measured, "--html", measured / "x.html")
    assert done.code == 1
    assert f"radlength case report {measured} --html case.html" in done.err


def test_report_never_replaces_a_file_of_the_case(measured, invoke):
    done = invoke("case", "report", measured, "--json-file", measured / "radlength-case.json")
    assert done.code == 1
    assert "would replace a file of the case" in done.err
    assert invoke("case", "report", measured).code == 2
