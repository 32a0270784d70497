"""The HTML report in real Chromium: without JavaScript, without network, with the rules of axe-core."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from helpers.printed import on_first_screen, too_small
from helpers.reports import evil, full_pages

from radlength.report import html_report, pages
from radlength.trade import CAUTION, NOT_CONFIRMED


@pytest.fixture
def page_file(tmp_path: Path) -> Path:
    path = tmp_path / "report.html"
    path.write_text(html_report(full_pages()), encoding="utf-8")
    return path


def test_it_is_whole_without_javascript_and_network(browser: Any, page_file: Path) -> None:
    page = browser.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 800}).new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    text = page.inner_text("body")
    for expected in (NOT_CONFIRMED, CAUTION, "20.7 mm", "A canal length is not a working length."):
        assert expected in text, expected
    assert not [url for url in asked if not url.startswith(("file:", "data:"))]


def test_it_is_read_on_paper_and_says_its_caution_before_anything_is_scrolled(
    browser: Any, page_file: Path
) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    assert on_first_screen(page, CAUTION)
    assert too_small(page) == []


def test_marks_are_vectors_over_a_visible_image(browser: Any, page_file: Path) -> None:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(page_file.as_uri())
    box = page.locator(".image svg").first.bounding_box()
    assert box["width"] > 250
    assert box["y"] < 300
    assert page.locator(".image svg polyline").count() > 10
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
    path = tmp_path / "evil.html"
    path.write_text(html_report(pages(*evil(), patient="<img src=x onerror=alert(1)>")), encoding="utf-8")
    page = browser.new_context().new_page()
    opened: list[str] = []
    page.on("dialog", lambda dialog: (opened.append(dialog.message), dialog.dismiss()))
    page.goto(path.as_uri())
    assert page.locator("script").count() == 0
    assert opened == []
