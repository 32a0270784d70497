from __future__ import annotations

from pathlib import Path


def test_demo_folder_that_is_a_file(tmp_path: Path, invoke) -> None:
    there = tmp_path / "demo"
    there.write_text("mine", "utf-8")
    done = invoke("demo", "--out", there)
    assert done.code == 1
    assert "the demo folder is a file; choose another with --out" in done.err
    assert there.read_text("utf-8") == "mine"


def test_demo_of_damaged_marks_says_which(tmp_path: Path, invoke) -> None:
    assert invoke("demo", "--out", tmp_path).code == 0
    (tmp_path / "invented-premolar.marks.json").write_text("{", "utf-8")
    done = invoke("demo", "--out", tmp_path)
    assert done.code == 1
    assert done.err.startswith("radlength: invented-premolar.marks.json: not a readable JSON file")
