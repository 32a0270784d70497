from __future__ import annotations

from pathlib import Path

import pytest

from radlength.trade import CAUTION


@pytest.mark.slow
def test_phantom_marks_and_measures(tmp_path: Path, invoke) -> None:
    document = invoke("phantom", "--seed", "7", "--out", tmp_path, "--json").json
    image, truth, marks = map(Path, document["written"])
    assert document["invented"] is True
    assert truth.name.endswith(".truth.json")
    assert invoke("mark", image, "--from", marks).code == 0
    assert "invented case" in invoke("estimate", image).out


def test_text_names_every_file(tmp_path: Path, invoke, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[object, ...]] = []

    def write(out: Path, seed: int, **more: object) -> list[Path]:
        asked.append((out, seed, more))
        return [out / "a.png", out / "a.truth.json"]

    monkeypatch.setattr("radlength.phantom.write.write_phantom", write)
    words = ("--seed", "7", "--kind", "s_bend", "--format", "tiff", "--shift-deg", "20", "--out", tmp_path)
    done = invoke("phantom", *words)
    assert asked == [(tmp_path, 7, {"kind": "s_bend", "file_format": "tiff", "shift_deg": 20.0})]
    assert f"written: {tmp_path / 'a.png'}" in done.out
    assert "Invented: no person is shown." in done.out
    assert CAUTION in " ".join(done.out.split())


def test_unknown_kind_names_the_kinds(tmp_path: Path, invoke) -> None:
    done = invoke("phantom", "--seed", "7", "--kind", "canine", "--out", tmp_path)
    assert done.code == 1
    assert "lower_molar" in done.err
