"""The page of figures names benchmarks that exist, and has a stored ratio for each line that is checked."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

BENCHMARKS = Path(__file__).parents[1] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))
page = pytest.importorskip("page")
sys.path.remove(str(BENCHMARKS))


def test_every_line_names_benchmarks_that_exist() -> None:
    for row in page.ROWS:
        for name in (row.ours, row.peer):
            file, *parts = name.split("[")[0].split("::")
            source = (BENCHMARKS / f"test_bench_{file}.py").read_text(encoding="utf-8")
            assert all(f"def {part}(" in source or f"class {part}" in source for part in parts), name


def test_every_checked_line_has_a_stored_ratio() -> None:
    stored = json.loads(page.STORED.read_text(encoding="utf-8"))
    assert set(stored) == {row.what for row in page.ROWS if not row.disk}
    assert all(ratio > 0 for ratio in stored.values())


def test_a_planted_regression_is_told() -> None:
    stored = json.loads(page.STORED.read_text(encoding="utf-8"))
    assert page.regressions(stored, stored) == []
    slower = stored | {"open a 4-Mpx TIFF": 1.21 * stored["open a 4-Mpx TIFF"]}
    assert [line.split(":")[0] for line in page.regressions(slower, stored)] == ["open a 4-Mpx TIFF"]


def test_the_table_has_a_line_for_each() -> None:
    seconds = {name: 0.001 for row in page.ROWS for name in (row.ours, row.peer)}
    assert len(page.table(seconds)) == 1 + len(page.ROWS)
    assert set(page.ratios(seconds).values()) == {1.0}
