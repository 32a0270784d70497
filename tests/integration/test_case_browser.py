"""The page of a case in real Chromium: without JavaScript, without network, with the rules of axe-core."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from helpers.made_case import full_case, with_canal, with_decision, with_length
from helpers.printed import on_first_screen, too_small
from helpers.reports import EVIL

from radlength.report import case_html, case_pages
from radlength.trade import CAUTION, NOT_CONFIRMED


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two teeth, one canal decided, one not."""
    folder = tmp_path_factory.mktemp("case")
    case = with_decision(full_case(folder), 20.5, short_mm=1.0)
    case = with_length(with_canal(case, tooth="47"), canal="47 MB")
    path = folder / "case.html"
    path.write_text(case_html(case_pages(case, folder)), encoding="utf-8")
    return path


def test_it_is_whole_without_javascript_and_network(browser: Any, page_file: Path) -> None:
    page = browser.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 800}).new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    text = page.inner_text("body")
    wanted = (NOT_CONFIRMED, CAUTION, "decided by invented person", "A canal length is not a working length.")
    for expected in (*wanted, "20.5 mm, 1 mm short of the radiographic apex", "Tooth 47"):
        assert expected in text, expected
    assert not [url for url in asked if not url.startswith(("file:", "data:"))]


def test_it_is_read_on_paper_and_says_its_caution_before_anything_is_scrolled(
    browser: Any, page_file: Path
) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert on_first_screen(page, CAUTION)
    assert too_small(page) == []


def test_time_lines_and_marks_are_vectors_in_view(browser: Any, page_file: Path) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert page.locator(".charts svg").count() == 3
    assert page.locator(".many svg polyline").count() > 10
    assert page.locator(".many svg").first.bounding_box()["width"] > 180
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize("width", [1280, 400], ids=["desk", "narrow"])
def test_axe_finds_nothing_serious(browser: Any, page_file: Path, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")
    # the page's own policy forbids every script, so the checker is let in for this test only
    page = browser.new_context(bypass_csp=True, viewport={"width": width, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    result = axe.Axe().run(page).response
    assert len(result["passes"]) > 10
    bad = [(v["id"], v["impact"]) for v in result["violations"] if v["impact"] in ("serious", "critical")]
    assert bad == []


@pytest.mark.parametrize("width", [320, 360], ids=str)
def test_a_phone_scrolls_in_one_direction(browser: Any, page_file: Path, width: int) -> None:
    page = browser.new_context(bypass_csp=True, viewport={"width": width, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_attacks_do_nothing(browser: Any, tmp_path: Path) -> None:
    case = with_length(with_canal(name=EVIL[:50]), canal=f"46 {EVIL[:50]}", rule=EVIL, source=EVIL)
    path = tmp_path / "evil.html"
    path.write_text(case_html(case_pages(case, tmp_path, patient=EVIL)), encoding="utf-8")
    page = browser.new_context().new_page()
    opened: list[str] = []
    page.on("dialog", lambda dialog: (opened.append(dialog.message), dialog.dismiss()))
    page.goto(path.as_uri())
    assert page.locator("script").count() == 0
    assert opened == []
