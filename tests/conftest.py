"""How tests are shared out when several processes run them: a file stays whole, and all windows are one process's."""

from __future__ import annotations

from pathlib import Path

import pytest

WINDOWS = Path(__file__).parent / "plugin"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep what a file prepares in one process, and real mouse and keys to one window at a time."""
    for item in items:
        name = "windows" if item.path.is_relative_to(WINDOWS) else str(item.path)
        item.add_marker(pytest.mark.xdist_group(name))
