"""What tests of whole pages and whole archives share."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium, one a module: its loop would be in the way of other tests."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("chromium is not installed")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=chromium, args=QUIET)
        yield opened
        opened.close()
