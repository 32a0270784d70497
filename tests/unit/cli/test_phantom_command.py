from __future__ import annotations

from pathlib import Path

import pytest


@pytest.mark.slow
def test_phantom_marks_and_measures(tmp_path: Path, invoke) -> None:
    document = invoke("phantom", "--seed", "7", "--out", tmp_path, "--json").json
    image, truth, marks = map(Path, document["written"])
    assert document["invented"] is True
    assert truth.name.endswith(".truth.json")
    assert invoke("mark", image, "--from", marks).code == 0
    assert "invented case" in invoke("estimate", image).out


def test_unknown_kind_names_the_kinds(tmp_path: Path, invoke) -> None:
    done = invoke("phantom", "--seed", "7", "--kind", "canine", "--out", tmp_path)
    assert done.code == 1
    assert "lower_molar" in done.err
