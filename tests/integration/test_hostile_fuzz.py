"""Readers under a fuzzer that is guided by the lines it reaches; ``RADLENGTH_FUZZ_SECONDS=600`` for long.

By hand: ``python tests/reference/fuzz_readers.py --seconds 600``.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from helpers.fuzz import GROUPS, fuzz

pytest.importorskip("atheris", reason="atheris is not installed")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs limits of a process")
SECONDS = int(os.environ.get("RADLENGTH_FUZZ_SECONDS", "8"))
FEWEST = 20
"""Inputs tried in any run that says something: the seeds alone are fewer."""

PLANTED = {
    "planted-raising": "KeyError",
    "planted-endless": "libFuzzer: timeout",
    "planted-hungry": "MemoryError",
    "planted-lying": "WrongNumberError: length of a reference",
}


def test_a_planted_bug_of_each_kind_is_caught(tmp_path: Path) -> None:
    """Three lie behind four bytes of 2**32; the time is only what a loaded machine may need."""
    groups = [(name,) for name in PLANTED]
    for one in fuzz(groups, tmp_path, seconds=120, timeout=2, megabytes=500):
        assert one.found, one.words
        if "it did not end" not in one.words:
            assert PLANTED[one.readers[0]] in one.words


def test_nothing_but_refusals_and_true_numbers_comes_out_of_a_reader(tmp_path: Path) -> None:
    for one in fuzz(GROUPS, tmp_path, seconds=SECONDS):
        print(f"{'-'.join(one.readers)}: {one.tried} inputs")
        assert not one.found, one.words
        assert one.tried > FEWEST
