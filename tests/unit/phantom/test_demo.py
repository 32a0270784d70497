from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

import radlength
from radlength.phantom import project
from radlength.phantom.demo import CANAL_MM, CAREFUL_MM, GAP_MM, NAME, demo_scene, write_demo
from radlength.trade import CAUTION

FOLDER = Path(radlength.__file__).parent / "demo"


def test_the_demo_that_comes_along_is_the_one_the_call_makes(tmp_path):
    image, marks = write_demo(tmp_path)
    kept = cv2.imread(str(FOLDER / f"{NAME}.png"), cv2.IMREAD_UNCHANGED)
    made = cv2.imread(str(image), cv2.IMREAD_UNCHANGED)
    assert kept.shape == made.shape
    assert np.abs(kept.astype(int) - made.astype(int)).max() <= 1
    assert json.loads((FOLDER / f"{NAME}.marks.json").read_text()) == json.loads(marks.read_text())


def test_marks_carry_the_caution():
    for path in FOLDER.glob("*.marks.json"):
        assert json.loads(path.read_text(encoding="utf-8"))["caution"] == CAUTION, path.name


def test_the_demo_is_small_enough_to_come_along():
    assert (FOLDER / f"{NAME}.png").stat().st_size < 900_000


def test_the_origin_tells_the_truth_and_the_marks_do_not():
    origin = (FOLDER / "ORIGIN.md").read_text(encoding="utf-8")
    assert f"**{CANAL_MM:.2f} mm**" in origin
    assert "simulated" in origin
    assert "python -m radlength.phantom.demo" in origin
    marks = (FOLDER / f"{NAME}.marks.json").read_text()
    assert str(CANAL_MM) not in marks


def test_the_marks_are_a_careful_hands():
    scene = demo_scene()
    marks = json.loads((FOLDER / f"{NAME}.marks.json").read_text())
    canal = scene.canal()
    true = project(canal.at(np.linspace(0, canal.length_mm, 9)), scene.view)
    off_mm = (np.array(marks["canals"][0]["path_px"]) - true) * scene.view.pitch_mm
    assert np.abs(off_mm).max() < 4 * CAREFUL_MM
    assert off_mm.std() == pytest.approx(CAREFUL_MM, rel=0.6)
    assert marks["references"][0]["length_mm"] == CANAL_MM - GAP_MM == 21.0
