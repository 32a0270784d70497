"""The demonstration: measured from the marks that come with the images, and from nothing else."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from helpers.cases import run

from radlength.imaging import read_radiograph
from radlength.trade import CAUTION

INVENTED, REAL = "invented-premolar", "tooth036-projection"
LENGTHS = ("canal_length_value_mm", "canal_length_low_mm", "canal_length_high_mm")


def _rows(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "lengths.csv").open(encoding="utf-8", newline="") as file:
        return {row["image"]: row for row in csv.DictReader(file)}


def _picture(folder: Path, stem: str) -> np.ndarray:
    return np.asarray(cv2.imread(str(folder / f"{stem}-marked.png")))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("a place")
    done = run("demo", cwd=folder)
    assert (done.code, done.err) == (0, "")
    (folder / "said.txt").write_text(done.out, "utf-8")
    return folder


def test_everything_is_written(demo: Path) -> None:
    names = {path.name for path in (demo / "radlength-demo").iterdir()}
    endings = (".png", ".marks.json", ".png.radlength.json", "-marked.png")
    assert names == {f"{stem}{end}" for stem in (INVENTED, REAL) for end in endings} | {"lengths.csv"}


def test_summary_has_length_interval_caution_and_what_next(demo: Path) -> None:
    said = " ".join((demo / "said.txt").read_text("utf-8").split())
    row = _rows(demo / "radlength-demo")[f"{INVENTED}.png"]
    value, low, high = (float(row[f"working_length_{part}_mm"]) for part in ("value", "low", "high"))
    assert f"working length {value:.2f} mm 95 % interval {low:.1f}–{high:.1f} mm; 1 mm short" in said
    assert "An invented case" in said
    assert "A real extracted tooth" in said
    assert CAUTION in said
    assert "radlength check radlength-demo/invented-premolar.png" in said


def test_its_next_commands_work(demo: Path) -> None:
    said = (demo / "said.txt").read_text("utf-8")
    commands = [line.split()[1:] for line in said.splitlines() if line.startswith("  radlength ")]
    assert [words[0] for words in commands] == ["check", "estimate", "view"]
    for words in commands[:2]:
        assert run(*words, cwd=demo).code == 0


def test_the_true_length_of_the_invented_canal_is_in_the_interval(demo: Path) -> None:
    """22.50 mm by the seed of the simulation, see ORIGIN.md beside the bundled image."""
    row = _rows(demo / "radlength-demo")[f"{INVENTED}.png"]
    value, low, high = (float(row[name]) for name in LENGTHS)
    assert low <= 22.50 <= high
    assert value == pytest.approx(22.50, abs=0.3)


def test_table_carries_caution_status_and_findings(demo: Path) -> None:
    rows = _rows(demo / "radlength-demo")
    assert {row["caution"] for row in rows.values()} == {CAUTION}
    assert {row["status"] for row in rows.values()} == {"estimate, not confirmed"}
    assert rows[f"{REAL}.png"]["working_length_value_mm"] == ""
    assert "reference-short" in rows[f"{REAL}.png"]["findings"].split()


def test_json(tmp_path: Path) -> None:
    document = run("demo", "--out", tmp_path / "x", "--json").json
    assert [found["image"] for found in document["estimates"]] == [f"{INVENTED}.png", f"{REAL}.png"]
    assert [found["invented"] for found in document["estimates"]] == [True, False]


def test_run_again_gives_the_same(tmp_path: Path) -> None:
    run("demo", "--out", tmp_path)
    rows, picture = _rows(tmp_path), _picture(tmp_path, INVENTED)
    record = json.loads((tmp_path / f"{INVENTED}.png.radlength.json").read_text("utf-8"))
    assert run("demo", "--out", tmp_path).code == 0
    again = json.loads((tmp_path / f"{INVENTED}.png.radlength.json").read_text("utf-8"))
    assert _rows(tmp_path) == rows
    assert np.array_equal(_picture(tmp_path, INVENTED), picture)
    assert again["canals"] == record["canals"]
    assert again["history"][: len(record["history"])] == record["history"]


def _move_apex(raw: dict[str, Any]) -> None:
    raw["canals"][0]["path_px"][-1][0] -= 20.0


def _longer_reference(raw: dict[str, Any]) -> None:
    raw["references"][0]["length_mm"] += 0.5


@pytest.mark.parametrize("stem", [INVENTED, REAL])
@pytest.mark.parametrize("change", [_move_apex, _longer_reference], ids=["apex", "reference"])
def test_a_changed_mark_changes_number_interval_and_picture(
    tmp_path: Path, stem: str, change: Callable[[dict[str, Any]], None]
) -> None:
    run("demo", "--out", tmp_path)
    before, picture = _rows(tmp_path)[f"{stem}.png"], _picture(tmp_path, stem)
    marks = tmp_path / f"{stem}.marks.json"
    raw = json.loads(marks.read_text("utf-8"))
    change(raw)
    marks.write_text(json.dumps(raw), "utf-8")
    done = run("demo", "--out", tmp_path)
    assert done.code == 0, done.err
    after = _rows(tmp_path)[f"{stem}.png"]
    assert all(abs(float(before[name]) - float(after[name])) > 0.05 for name in LENGTHS)
    changed = _picture(tmp_path, stem)
    assert picture.shape != changed.shape or not np.array_equal(picture, changed)


@pytest.mark.parametrize("stem", [INVENTED, REAL])
def test_no_result_is_stored_with_the_marks(stem: str) -> None:
    from importlib import resources

    raw = json.loads(resources.files("radlength").joinpath("demo", f"{stem}.marks.json").read_text("utf-8"))
    assert set(raw) <= {"format", "version", "invented", "caution", "note", "marking", "references", "canals"}
    for canal in raw["canals"]:
        assert set(canal) <= {"tooth", "name", "path_px", "reference", "terminus", "reference_point"}


@pytest.mark.parametrize("stem", [INVENTED, REAL])
def test_images_are_copied_unchanged_and_marks_lie_on_them(demo: Path, stem: str) -> None:
    from importlib import resources

    bundled = resources.files("radlength").joinpath("demo", f"{stem}.png").read_bytes()
    copy = demo / "radlength-demo" / f"{stem}.png"
    assert copy.read_bytes() == bundled
    rows, columns = read_radiograph(copy).shape
    raw = json.loads((demo / "radlength-demo" / f"{stem}.marks.json").read_text("utf-8"))
    for path in [item["path_px"] for item in raw["canals"] + raw["references"]]:
        assert all(-0.5 <= row <= rows - 0.5 and -0.5 <= column <= columns - 0.5 for row, column in path)
