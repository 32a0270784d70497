"""The page of a preview in real Chromium, with the rules of axe-core, and its plots printed grey."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from helpers.printed import on_first_screen, too_small

from radlength.finding import Finding
from radlength.report.shape_page import shape_page
from radlength.trade import CAUTION

TABLE = "canal,option,mm_from_end,diameter_mm,mesial_projected_mm,caution\n" + "".join(
    f"46 MB,25/.06,{at},{0.25 + 0.06 * at:.4f},{1.3 - 0.05 * at:.3f},{CAUTION}\n".replace(
        CAUTION, "no device"
    )
    for at in range(13)
)


@pytest.fixture
def page_file(tmp_path: Path) -> Path:
    path = tmp_path / "shape.html"
    picture = np.full((900, 640, 3), 90, np.uint8)
    found = [Finding("cone-tolerance", "cone 25/.06: may rest short.", "Try it in.", "note", "46 MB")]
    status = "estimate, not confirmed · invented case"
    path.write_text(
        shape_page(
            "46 MB: preview of a preparation", [("outlines", picture)] * 2, TABLE, found, status=status
        ),
        encoding="utf-8",
    )
    return path


def test_it_is_read_on_paper_and_says_its_caution_before_anything_is_scrolled(
    browser: Any, page_file: Path
) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert on_first_screen(page, CAUTION)
    assert on_first_screen(page, "invented case")
    assert too_small(page) == []
    assert all(image.bounding_box()["height"] < 600 for image in page.locator("img").all()), "two fit a page"


def test_a_table_is_headed_in_words_with_units_and_tells_a_nominal_diameter_to_a_hundredth(
    browser: Any, page_file: Path
) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    heads = page.locator("th").all_inner_texts()
    assert heads == ["canal", "option", "mm from the end", "diameter, mm", "mesial projected, mm"]
    assert page.locator("tr").nth(1).locator("td").all_inner_texts()[2:] == ["0", "0.25", "1.300"]


def test_figures_are_told_to_the_places_they_have_and_the_worst_doubt_first() -> None:
    """0.00059197 mm of a length known to half a millimetre is no figure; the CSV keeps every digit."""
    table = (
        "canal,figure,method,mm_from_apical_end,value,u,low,high,unit,caution\n"
        "46 MB,length change,curve,,-0.00059197,0.45138,-0.88412,0.8853,mm,x\n"
        "46 MB,Weine angle,Weine,,35.0012,10.149,22.141,59.858,deg,x\n"
        "46 MB,mean curvature,profile,,0.024613,0.01,0.003,0.044,1/mm,x\n"
        "46 MB,projected centring ratio,Gambill,2,0.14185,,,,1,x\n"
    )
    found = [Finding(code, code, "", severity) for code, severity in (("b", "note"), ("a", "serious"))]
    page = shape_page("46 MB", [], table, found, status="invented case")
    assert [row for row in re.findall(r"<td>([^<]*)</td>", page) if row not in ("46 MB", "")] == [
        *("length change", "curve", "0.00", "0.45", "-0.89", "0.89", "mm"),
        *("Weine angle", "Weine", "35.0", "10.1", "22.1", "59.9", "deg"),
        *("mean curvature", "profile", "0.025", "0.010", "0.003", "0.044", "1/mm"),
        *("projected centring ratio", "Gambill", "2", "0.14", "1"),
    ]
    assert page.index("<b>serious</b>") < page.index("<b>note</b>")


@pytest.mark.parametrize("width", [1280, 400], ids=["desk", "narrow"])
def test_axe_finds_nothing(browser: Any, page_file: Path, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")
    page = browser.new_context(viewport={"width": width, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    result = axe.Axe().run(page).response
    assert len(result["passes"]) > 10
    assert [(found["id"], found["impact"]) for found in result["violations"]] == []
