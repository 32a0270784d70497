"""How two processes share the tests: a file stays whole; windows are one process's, and so are servers."""

from __future__ import annotations

import pytest
from xdist.remote import Producer
from xdist.scheduler import LoadFileScheduling

ONE_PROCESS = ("tests/plugin/", "tests/integration/")
"""Folders whose tests compete for keys and mouse, or for ports."""


class Together(LoadFileScheduling):
    """Tests of one file, or of one of those folders, go to one process."""

    def _split_scope(self, nodeid: str) -> str:
        file = super()._split_scope(nodeid)
        return next((folder for folder in ONE_PROCESS if file.startswith(folder)), file)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> Together:
    """Share tests out so."""
    return Together(config, log)
