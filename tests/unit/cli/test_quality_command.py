from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from helpers.cases import write_image

from radlength.trade import CAUTION


def _rows(path: Path) -> list[dict[str, str]]:
    return list(
        csv.DictReader(line for line in path.read_text("utf-8").splitlines() if not line.startswith("#"))
    )


def test_one_image_as_text_and_json(marked: Path, invoke) -> None:
    said = " ".join(invoke("quality", marked).out.split())
    assert "apex in field" in said
    assert "a person's to say" in said
    assert CAUTION in said
    data = invoke("quality", marked, "--json").json
    names = {measure["name"] for measure in data["measures"]}
    assert {"noise", "cone_cut", "apex_in_field", "sharpness", "magnification"} <= names
    assert data["caution"] == CAUTION
    assert not {"grade", "result", "acceptable"} & set(data)


def test_strict_leaves_with_three_for_a_serious_doubt(marked: Path, invoke) -> None:
    data = invoke("quality", marked, "--json").json
    serious = any(finding["severity"] == "serious" for finding in data["doubts"])
    assert serious
    assert invoke("quality", marked, "--strict").code == 3
    assert invoke("quality", marked).code == 0


def test_a_folder_to_a_table_filled_by_a_person_and_audited(tmp_path: Path, invoke) -> None:
    folder = tmp_path / "images"
    folder.mkdir()
    for number in range(4):
        write_image(folder / f"{number}.png", seed=number)
    table = tmp_path / "audit.csv"
    done = invoke("quality", folder, "--csv", table)
    assert done.code == 0, done.err
    rows = _rows(table)
    assert [row["image"] for row in rows] == ["0.png", "1.png", "2.png", "3.png"]
    assert invoke("quality", "--read-grades", table).code == 1
    for row, result in zip(rows, "AAN", strict=False):
        row["result"], row["by"] = result, "invented grader"
    rows[2]["error_positioning"] = "apex cut"
    with table.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    said = " ".join(invoke("quality", "--read-grades", table).out.split())
    assert "2 of 3 images were graded acceptable, 66.7 %" in said
    assert "sample is small" in said
    assert "positioning 1" in said
    assert "Not graded yet: 1" in said
    assert CAUTION in said
    data = invoke("quality", "--read-grades", table, "--film", "--json").json
    assert (data["n"], data["target_percent"], data["ungraded"]) == (3, 90.0, ["3.png"])
    refused = invoke("quality", folder, "--csv", table)
    assert refused.code == 1
    assert "never overwritten" in refused.err
    assert _rows(table)[0]["result"] == "A"


def test_a_folder_goes_on_after_a_broken_file(tmp_path: Path, invoke) -> None:
    write_image(tmp_path / "a.png")
    (tmp_path / "b.png").write_bytes(b"broken")
    done = invoke("quality", tmp_path, "--json")
    assert done.code == 0
    assert [bool(row.get("problem")) for row in done.json["images"]] == [False, True]


def test_refusals_are_one_line(tmp_path: Path, invoke) -> None:
    for words in ((), (tmp_path / "none.png",), (tmp_path,), ("--read-grades", tmp_path / "none.csv")):
        done = invoke("quality", *words)
        assert done.code == 1
        assert done.err.count("\n") == 1
        assert done.out == ""


def test_a_record_of_other_pixels_is_refused(marked: Path, invoke) -> None:
    write_image(marked, seed=9)
    done = invoke("quality", marked)
    assert done.code == 1
    assert "another image" in done.err


def test_an_edge(tmp_path: Path, invoke) -> None:
    import cv2
    from helpers.quality_scenes import slanted

    grey, ends = slanted(1.2)
    path = tmp_path / "edge.png"
    path.write_bytes(cv2.imencode(".png", grey)[1].tobytes())
    points = " ".join(f"{row},{column}" for row, column in np.asarray(ends))
    data = invoke("quality", path, "--edge", points, "--json").json
    found = {measure["name"]: measure for measure in data["measures"]}["edge_resolution"]
    assert found["unit"] == "cycles/px"
    assert abs(found["value"] - 0.3415 / 1.2) < 0.01
