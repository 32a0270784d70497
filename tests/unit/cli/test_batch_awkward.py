"""``radlength batch`` on names that are no UTF-8, and with options that contradict each other."""

from __future__ import annotations

import os
import sys

import pytest

LATIN = os.fsdecode(b"M\xfcller.png")


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such a name")
def test_a_name_that_is_no_utf_8_is_told_in_json(tmp_path, invoke):
    (tmp_path / LATIN).write_bytes(b"no picture")
    words = ("--job", "quality", "--out", tmp_path / "out", "--workers", "1", "--json")
    told = invoke("batch", tmp_path, *words)
    assert told.code == 0
    assert [row["image"] for row in told.json["rows"]] == [LATIN]


@pytest.mark.parametrize(
    "words",
    [
        ("--validation", "1", "--job", "estimate"),
        ("--validation", "1", "--parquet"),
        ("--job", "estimate", "--scheduler", "tcp://127.0.0.1:1", "--scheduler-file", "x"),
    ],
    ids=["study and job", "study as parquet", "two schedulers"],
)
def test_options_that_contradict_each_other_are_refused(tmp_path, invoke, words):
    done = invoke("batch", "--out", tmp_path / "out", *words)
    assert done.code == 2
    assert "do not go together" in " ".join(done.err.split())
    assert not (tmp_path / "out").exists()
