"""The class page in real Chromium: whole without scripts and network, sorted with them, clean by axe-core."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from helpers.exercise_markers import Marker, attempt_of, course, truth_of
from helpers.printed import on_first_screen, too_small

from radlength.exercise import save_attempt
from radlength.exercise.classroom import attempt_files, score_class
from radlength.exercise.page import class_page
from radlength.exercise.texts import SIMULATED
from radlength.trade import CAUTION

EVIL = "<img src=x onerror=alert(1)>.attempt.json"


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("class")
    for number in range(12):
        marker = Marker(0.1 + 0.03 * number, 0.1, 0.1, apex_bias_mm=0.3 * (number % 3 - 1), wrong=0.2)
        code = f"A{number:02d}"
        save_attempt(attempt_of(course(), marker, number, code), folder / f"{code}.attempt.json")
    (folder / EVIL).write_text("{}", encoding="utf-8")
    made = course()
    exercises = made.exercises.model_copy(update={"title": "</script><script>alert(2)</script>"})
    found = score_class(made.exercises, truth_of(made), attempt_files([folder]))
    path = folder / "class.html"
    path.write_text(class_page(type(found)(exercises, found.learners, found.set_aside)), encoding="utf-8")
    return path


def means(page: Any) -> list[float]:
    cells = page.locator("#learners tbody tr td:nth-child(5)").all_inner_texts()
    return [float(cell) for cell in cells]


def test_it_is_whole_without_javascript_and_network(browser: Any, page_file: Path) -> None:
    page = browser.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 800}).new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    text = page.inner_text("body")
    for expected in (
        "12 learners scored, 1 attempt set aside",
        "A11",
        "Intraclass correlation (2,1)",
        CAUTION,
    ):
        assert expected in text, expected
    assert page.locator("#learners tbody tr").count() == 12
    assert page.locator("svg").count() == 4
    assert page.locator("th button").count() == 0
    assert not [url for url in asked if not url.startswith(("file:", "data:"))]


def test_it_is_read_on_paper_and_says_its_caution_before_anything_is_scrolled(
    browser: Any, page_file: Path
) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert on_first_screen(page, CAUTION)
    assert too_small(page) == []


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_every_sheet_of_paper_carries_the_caution_and_every_part_of_the_table_its_header(
    browser: Any, tmp_path: Path
) -> None:
    """A class of forty takes several sheets, sorted by a button or not."""
    for number in range(40):
        code = f"A{number:02d}"
        save_attempt(
            attempt_of(course(), Marker(0.1, 0.1, 0.1), number, code), tmp_path / f"{code}.attempt.json"
        )
    found = score_class(course().exercises, truth_of(course()), attempt_files([tmp_path]))
    (tmp_path / "class.html").write_text(class_page(found), encoding="utf-8")
    page = browser.new_page()
    page.goto((tmp_path / "class.html").as_uri())
    page.locator("#learners th button").nth(4).click()
    page.pdf(path=tmp_path / "class.pdf", prefer_css_page_size=True)
    run = subprocess.run(
        ["pdftotext", tmp_path / "class.pdf", "-"], capture_output=True, text=True, check=True
    )
    sheets = [" ".join(sheet.split()) for sheet in run.stdout.split("\f") if sheet.strip()]
    with_learners = [sheet for sheet in sheets if re.search(r"\bA[0-9]{2}\b", sheet)]
    assert len(with_learners) > 1
    assert all("What stands out" in sheet for sheet in with_learners)
    assert all(SIMULATED in sheet and CAUTION in sheet for sheet in sheets)


def test_a_click_or_a_key_sorts_rising_and_falling(browser: Any, page_file: Path) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    page.goto(page_file.as_uri())
    before = means(page)
    page.locator("#learners th button").nth(4).click()
    assert means(page) == sorted(before) != before
    page.locator("#learners th button").nth(4).press("Enter")
    assert means(page) == sorted(before, reverse=True)
    assert page.locator("#learners th").nth(4).get_attribute("aria-sort") == "descending"
    assert page.inner_text("#sorted").startswith("Sorted by Mean, mm")
    page.locator("#learners th button").nth(0).click()
    assert page.locator("#learners tbody th").all_inner_texts() == [f"A{number:02d}" for number in range(12)]
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert said == []


def test_attacks_do_nothing(browser: Any, page_file: Path) -> None:
    page = browser.new_context().new_page()
    opened: list[str] = []
    page.on("dialog", lambda dialog: (opened.append(dialog.message), dialog.dismiss()))
    page.goto(page_file.as_uri())
    assert page.locator("script").count() == 1
    assert page.locator("img").count() == 0
    assert "<img src=x" in page.inner_text("body")
    assert opened == []


@pytest.mark.parametrize("width", [1280, 400], ids=["desk", "narrow"])
def test_axe_finds_nothing(browser: Any, page_file: Path, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")
    # the page's own policy forbids other scripts, so the checker is let in for this test only
    page = browser.new_context(bypass_csp=True, viewport={"width": width, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    result = axe.Axe().run(page).response
    assert len(result["passes"]) > 10
    assert [(found["id"], found["impact"]) for found in result["violations"]] == []
