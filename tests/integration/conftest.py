"""What tests of whole pages and whole archives share."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from helpers.archive_servers import orthanc

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


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """An archive for all tests of a module."""
    with orthanc(tmp_path_factory.mktemp("archive"), DefaultEncoding="Utf8") as one:
        yield one


@pytest.fixture(params=["dimse", "web"])
def address(request: pytest.FixtureRequest, server: Any) -> str:
    """Its address, each way to talk to it."""
    found: str = server.address if request.param == "dimse" else server.web
    return found
