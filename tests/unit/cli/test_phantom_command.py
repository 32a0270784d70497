from __future__ import annotations

import json
from pathlib import Path

import pytest

from radlength.phantom.detector import Detector
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
        asked.append((out.parent, seed, more))
        for name in ("a.png", "a.truth.json"):
            (out / name).write_bytes(b"made")
        return [out / "a.png", out / "a.truth.json"]

    monkeypatch.setattr("radlength.phantom.write.write_phantom", write)
    words = ("--seed", "7", "--kind", "s_bend", "--format", "tiff", "--shift-deg", "20", "--out", tmp_path)
    done = invoke("phantom", *words)
    assert asked == [
        (
            tmp_path,
            7,
            {
                "kind": "s_bend",
                "file_format": "tiff",
                "shift_deg": 20.0,
                "detector": Detector(),
                "shown": ("wire", "ball"),
                "instruments": 1,
            },
        )
    ]
    assert f"written: {tmp_path / 'a.png'}" in done.out
    assert "Invented: no person is shown." in done.out
    assert CAUTION in " ".join(done.out.split())


def test_unknown_kind_names_the_kinds(tmp_path: Path, invoke) -> None:
    done = invoke("phantom", "--seed", "7", "--kind", "canine", "--out", tmp_path)
    assert done.code == 1
    assert "lower_molar" in done.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--bits", "10"), "10 bits a pixel; 8, 12 or 16"),
        (("--gamma", "9"), "a gamma of 9.0; 0.2 to 5"),
        (("--gamma", "nan"), "a gamma of nan"),
        (("--sharpen", "7"), "sharpening by 7; 0 to 5"),
        (("--sharpen", "-1"), "a sharpen of -1.0; 0 or more"),
        (("--shown", "ruler"), "'ruler' in a simulated scene; wire, ball, rod, marker"),
        (("--instruments", "2"), "2 instruments in a tooth of 1 canal; 0 to 1"),
        (("--instruments", "-1"), "-1 instruments; a whole number, 0 or more"),
        (("--gap-mm", "40"), "a tip 40.0 mm short"),
        (("--bend-deg", "120"), "an apical bend of 120°; up to 90° either way"),
        (("--azimuth-deg", "inf"), "azimuth_deg of inf; a number"),
        (("--format", "gif"), "a file format 'gif'; png, tiff, jpeg, dicom"),
        (("--format", "jpeg", "--bits", "16"), "a JPEG of 16 bits; 8 bits"),
        (("--shift-deg", "60"), "a tube shift of 60°; 1 to 45° to either side"),
        (("--shift-deg", "0"), "a tube shift of 0°"),
    ],
    ids=" ".join,
)
def test_every_option_says_what_it_takes(tmp_path: Path, invoke, words, said: str) -> None:
    done = invoke("phantom", "--seed", "5", *words, "--out", tmp_path / "new")
    assert done.code == 1
    assert said in done.err
    assert not (tmp_path / "new").exists()


@pytest.mark.slow
def test_two_views_with_a_marker_are_ready_to_be_measured(tmp_path: Path, invoke) -> None:
    document = invoke(
        "phantom", "--seed", "8", "--shift-deg", "25", "--shown", "marker", "--gap-mm", "2", "--bend-deg", "30",
        "--azimuth-deg", "90", "--bits", "12", "--format", "tiff", "--out", tmp_path, "--json",
    ).json  # fmt: skip
    written = list(map(Path, document["written"]))
    straight, shifted = (path for path in written if path.suffix == ".tif")
    marker = next(path for path in written if path.name.endswith(".marker.json"))
    for image in (straight, shifted):
        assert invoke("mark", image, "--from", image.with_suffix(".marks.json")).code == 0
    found = invoke("views", straight, shifted, "--shift", "right", "--marker", marker, "--json").json
    truth = json.loads(straight.with_suffix(".truth.json").read_text())["canals"][0]["length_mm"]
    length = found["canals"][0]["canal_length"]
    assert found["tube_from"] == "marker"
    assert found["shift_deg"] == pytest.approx(25, abs=4)
    assert length["low_mm"] < truth < length["high_mm"]


@pytest.mark.parametrize("inside", ["", "deeper"])
def test_a_file_in_the_place_of_the_folder_is_said_in_plain_words(
    tmp_path: Path, invoke, inside: str
) -> None:
    place = tmp_path / "taken"
    place.write_text("somebody's", encoding="utf-8")
    done = invoke("phantom", "--seed", "5", "--out", place / inside)
    assert done.code == 1
    assert "cannot be written to: a file is where a folder should be; " in done.err
    assert done.err.strip().endswith("name another folder")
    assert "exists" not in done.err
    assert place.read_text(encoding="utf-8") == "somebody's"
