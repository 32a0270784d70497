from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers.cases import points
from helpers.two_images import two_images

from radlength.trade import CAUTION


@pytest.fixture
def pair(tmp_path: Path, invoke):
    """A lower molar of the right side on two marked images, the tube 20 degrees toward larger columns: mesial."""
    return marked(tmp_path, invoke, 741001, kind="lower_molar")


def marked(folder: Path, invoke, seed: int, **numbers):
    scene, images, files, marker = two_images(folder, seed, **numbers)
    for image, marks in zip(images, files, strict=True):
        assert invoke("mark", image, "--from", marks).code == 0
        assert invoke("mark", image, "--pitch-mm", "0.025").code == 0
    return scene, images, marker


def test_lengths_sides_and_status_for_programs(pair, invoke) -> None:
    scene, images, _ = pair
    document = invoke("views", *images, "--shift", "mesial", "--shift-deg", "20", "--json").json
    assert document["method"] == "two views"
    assert document["tube_from"] == "declared"
    assert document["caution"] == CAUTION
    assert document["status"] == "estimate, not confirmed"
    assert [one["canal"] for one in document["canals"]] == ["MB", "ML", "D"]
    for one in document["canals"]:
        found, truth = one["canal_length"], scene.canal(one["canal"]).length_mm
        assert found["value_mm"] == pytest.approx(truth, abs=0.8)
        assert found["low_mm"] < truth < found["high_mm"]
        assert one["working_length"]["value_mm"] == pytest.approx(found["value_mm"] - 1)
        assert one["straight_view"]["method"] == ("in_canal" if one["canal"] == "MB" else "borrowed")
    depth = {c.name: c.points_mm[64:, 2].mean() for c in scene.canals}
    assert depth["MB"] > depth["ML"]
    assert [one["side"] for one in document["canals"][:2]] == ["buccal", "lingual"]


def test_text_has_every_figure_and_the_caution(pair, invoke) -> None:
    _, images, _ = pair
    done = invoke("views", *images, "--shift", "mesial", "--shift-deg", "20", "--round", "down")
    said = " ".join(done.out.split())
    for words in (
        "46 MB from two views estimate, not confirmed · invented case",
        "working length",
        "rounded to 0.5 mm, down",
        "straight image alone",
        "shifted image alone",
        "bend along the beam",
        "buccal, toward the tube, against the other canals",
        "by declaration. Sides and signs of bends are as right as the direction: mesial.",
        CAUTION,
    ):
        assert words in said, words


def test_a_wrong_direction_contradicts_the_names_of_the_canals(pair, invoke) -> None:
    _, images, _ = pair
    done = invoke("views", *images, "--shift", "distal", "--shift-deg", "20", "--strict", "--json")
    assert done.code == 3
    assert "two-views-sides-differ" in {finding["code"] for finding in done.json["findings"]}


def test_swapped_images_contradict_the_names_of_the_canals(pair, invoke) -> None:
    _, images, _ = pair
    done = invoke("views", *images[::-1], "--shift", "mesial", "--shift-deg", "20", "--strict")
    assert done.code == 3
    assert "lingual of ML" in " ".join(done.out.split())


def test_a_marker_finds_the_angle_and_denies_a_wrong_direction(tmp_path: Path, invoke) -> None:
    scene, images, marker = marked(tmp_path, invoke, 741002)
    right = "left" if scene.view.roots_up else "right"
    words = ("views", *images, "--marker", marker, "--json")
    document = invoke(*words, "--shift", right).json
    assert document["tube_from"] == "marker"
    assert document["shift_deg"] == pytest.approx(20, abs=3)
    assert document["canals"][0]["canal_length"]["value_mm"] == pytest.approx(
        scene.canal().length_mm, abs=0.3
    )
    wrong = invoke(*words, "--shift", "left" if right == "right" else "right")
    assert wrong.code == 1
    assert wrong.json["error"]["code"] == "two-views-direction"


def test_one_canal_of_several(pair, invoke) -> None:
    _, images, _ = pair
    document = invoke("views", *images, "--shift", "mesial", "--canal", "MB", "--json").json
    assert [one["canal"] for one in document["canals"]] == ["MB"]
    assert document["canals"][0]["side"] is None
    assert "two-views-angle-not-declared" in {finding["code"] for finding in document["findings"]}


def test_the_same_picture_twice(pair, invoke) -> None:
    _, images, _ = pair
    done = invoke("views", images[0], images[0], "--shift", "mesial")
    assert done.code == 1
    assert "both files hold the same picture" in done.err


def test_a_pitch_is_asked_for(tmp_path: Path, invoke) -> None:
    _, images, files, _ = two_images(tmp_path, 741003)
    for image, marks in zip(images, files, strict=True):
        assert invoke("mark", image, "--from", marks).code == 0
    done = invoke("views", *images, "--shift", "mesial", "--shift-deg", "20")
    assert done.code == 1
    assert "pixel pitch of the straight image at the detector is not known" in done.err
    assert "--pitch-mm" in done.err


def test_a_canal_missing_on_one_image(pair, invoke) -> None:
    _, images, _ = pair
    path = points([(300.0, 500.0), (500.0, 500.0), (700.0, 500.0), (900.0, 500.0)])
    assert invoke("mark", images[0], "--tooth", "46", "--canal", "MB2", "--path", path).code == 0
    done = invoke("views", *images, "--shift", "mesial", "--shift-deg", "20")
    assert done.code == 1
    assert "the same canals on both images" in done.err


def test_a_direction_must_be_said(pair, invoke) -> None:
    _, images, _ = pair
    assert invoke("views", *images).code == 2
    assert invoke("views", *images, "--shift", "up").code == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("{", "not JSON", id="cut off"),
        pytest.param("[]", "holds no names", id="list"),
        pytest.param(json.dumps({"shape_mm": [[1, 2]]}), "shape_mm is no list of 3 numbers", id="flat"),
        pytest.param(json.dumps({"shape_mm": [[1, 2, True]]}), "shape_mm is no list of 3", id="truth value"),
        pytest.param(
            json.dumps({"shape_mm": [[1, 2, 10**400]]}), "shape_mm is no list of 3", id="beyond a float"
        ),
        pytest.param(
            '{"shape_mm": [[1,2,NaN]], "straight_px": [[1,2]], "shifted_px": [[1,2]]}',
            "not a number",
            id="nan",
        ),
    ],
)
def test_a_marker_file_that_is_none(pair, invoke, tmp_path: Path, text: str, words: str) -> None:
    _, images, _ = pair
    path = tmp_path / "bad.json"
    path.write_text(text)
    done = invoke("views", *images, "--shift", "mesial", "--marker", path)
    assert done.code == 1
    assert words in done.err
