"""PDF pages of a case read back by Debian's poppler tools (poppler-utils), which share no code with what wrote them."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.made_case import full_case, with_canal, with_decision, with_length

from radlength.record import Case
from radlength.report import case_pages, case_pdf
from radlength.trade import CAUTION, NOT_CONFIRMED

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")


def _tool(*words: object) -> str:
    return subprocess.run(
        list(map(str, words)), capture_output=True, check=True, text=True, timeout=60
    ).stdout


def _written(case: Case, folder: Path, **more: str) -> Path:
    path = folder / "case.pdf"
    path.write_bytes(case_pdf(case_pages(case, folder, **more)))
    return path


def _text(path: Path) -> str:
    return " ".join(_tool("pdftotext", path, "-").split())


def test_text_is_found_on_one_page_a_tooth(tmp_path: Path) -> None:
    case = with_length(with_canal(full_case(tmp_path), tooth="47"), canal="47 MB")
    path = _written(case, tmp_path)
    text = _text(path)
    for expected in (CAUTION, NOT_CONFIRMED, "Tooth 46: lengths over time", "Tooth 47", "apex locator"):
        assert expected in text, expected
    assert "Pages:           2" in _tool("pdfinfo", path)
    rows = _tool("pdffonts", path).splitlines()[2:]
    assert rows
    assert all(row.split()[-5] == "yes" for row in rows)


def test_the_decision_stands_with_its_person(tmp_path: Path) -> None:
    text = _text(_written(with_decision(full_case(tmp_path), 20.5, short_mm=1.0), tmp_path))
    assert "20.5 mm, 1 mm short of the radiographic apex; decided by invented person" in text


def test_greek_and_german_names_are_drawn(tmp_path: Path) -> None:
    text = _text(_written(with_length(with_canal()), tmp_path, patient="Παπά Ζωή, Müller Jörg"))
    assert "Παπά Ζωή, Müller Jörg" in text
    assert "□" not in text


def test_a_full_page_stays_above_its_foot_and_says_what_is_cut(tmp_path: Path) -> None:
    case = Case.new(invented=True)
    for number in range(6):
        case = with_canal(case, name=f"canal {number}")
        for step in range(12):
            case = with_length(case, 20 + step / 10, canal=f"46 canal {number}")
    path = _written(case, tmp_path)
    text = _text(path)
    assert "Pages:           1" in _tool("pdfinfo", path)
    assert "more: see the HTML report or radlength case show" in text
    assert CAUTION in text
    boxes = _tool("pdftotext", "-bbox", path, "-")
    lowest = max(
        float(part.split('yMax="')[1].split('"')[0]) for part in boxes.splitlines() if "<word" in part
    )
    assert lowest < 841.89 - 20


def test_the_page_is_not_empty_where_the_image_is(tmp_path: Path) -> None:
    path = _written(full_case(tmp_path), tmp_path)
    _tool("pdftoppm", "-r", "60", "-png", path, tmp_path / "page")
    pixels = cv2.imdecode(np.fromfile(next(tmp_path.glob("page*.png")), np.uint8), cv2.IMREAD_GRAYSCALE)
    assert (pixels < 100).mean() > 0.02
