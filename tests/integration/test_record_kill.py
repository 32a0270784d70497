"""A killed save leaves the old or the new record, never half of one; two programs at once lose nothing."""

import json
import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from helpers.records import small_record

from radlength.record import load_record, record_path, save_record
from radlength.uncertainty import Marking

TESTS = Path(__file__).parents[1]
HAS_FORK = pytest.mark.skipif(not hasattr(os, "fork"), reason="the writer is forked")
HAS_KILL = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
ROUNDS = 80


def run(*arguments, check=True):
    environment = os.environ | {"PYTHONPATH": str(TESTS)}
    return subprocess.run(
        [sys.executable, *map(str, arguments)],
        check=check,
        capture_output=True,
        text=True,
        timeout=120,
        env=environment,
    )


@HAS_FORK
def test_a_writer_killed_at_any_moment_leaves_a_whole_record(tmp_path):
    lines = run(TESTS / "helpers" / "kill_rounds.py", tmp_path, ROUNDS, 20260102).stdout.splitlines()
    rounds = [json.loads(line) for line in lines]
    assert len(rounds) == ROUNDS
    for one in rounds:
        assert one["on_disk"] in (one["reported"], one["reported"] + 1)
        assert one["left"] <= 1


DIE = textwrap.dedent("""
    import os, signal, sys
    from pathlib import Path
    from radlength.record import load_record, save_record
    from radlength.record import store
    from radlength.uncertainty import Marking

    def die(*_):
        os.kill(os.getpid(), signal.SIGKILL)

    def half(self, data):
        self._file.write(data[: len(data) // 2]); self._file.flush(); die()

    step, image = sys.argv[1], sys.argv[2]
    record = load_record(image).with_marking(Marking(apex_mm=0.7), who="killed")
    replace, opened, fsync = Path.replace, Path.open, os.fsync
    if step == "half written":
        class Half:
            def __init__(self, file): self._file = file
            def __enter__(self): return self
            def __exit__(self, *_): return None
            write = half
        Path.open = lambda self, mode="r": Half(opened(self, mode)) if mode == "xb" else opened(self, mode)
    if step == "before the flush":
        os.fsync = die
    if step == "before the rename":
        Path.replace = die
    if step == "after the rename":
        Path.replace = lambda self, target: (replace(self, target), die())
    save_record(record)
""")


@HAS_KILL
@pytest.mark.parametrize(
    ("step", "who"),
    [
        ("half written", None),
        ("before the flush", None),
        ("before the rename", None),
        ("after the rename", "killed"),
    ],
    ids=["half-written", "before-flush", "before-rename", "after-rename"],
)
def test_a_writer_killed_at_each_step_leaves_the_old_or_the_new_record(tmp_path, step, who):
    image = tmp_path / "tooth.tif"
    save_record(small_record().with_marking(Marking()), image)
    old = record_path(image).read_bytes()
    done = run("-c", DIE, step, image, check=False)
    assert done.returncode == -signal.SIGKILL, done.stderr
    assert load_record(image).history[-1].who == who
    assert (record_path(image).read_bytes() == old) is (who is None)
    left = [path for path in tmp_path.iterdir() if path.suffix == ".part"]
    assert len(left) == (who is None)
    save_record(load_record(image).with_marking(Marking(apex_mm=0.1), who="next"))
    assert load_record(image).history[-1].who == "next"
    assert [path for path in tmp_path.iterdir() if path.suffix == ".part"] == []


APPEND = textwrap.dedent("""
    import sys
    from radlength.errors import RecordError
    from radlength.record import load_record, save_record
    from radlength.uncertainty import Marking

    who, each = sys.argv[1], int(sys.argv[2])
    print("ready", flush=True)
    for image in map(str.strip, sys.stdin):
        done = told = 0
        while done < each:
            try:
                save_record(load_record(image).with_marking(Marking(apex_mm=done / each), who=who))
            except RecordError as error:
                assert error.code == "record-changed", error
                told += 1
            else:
                done += 1
        print(told, flush=True)
""")
EACH = 50
"""Saves of one writer in one record; then both begin another, so that no record grows without end."""
SAVES = int(os.environ.get("RADLENGTH_ROUNDS", "100"))


def appending(who):
    return subprocess.Popen(
        [sys.executable, "-c", APPEND, who, str(EACH)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def test_two_programs_that_write_at_once_are_told_and_lose_nothing(tmp_path):
    """`RADLENGTH_ROUNDS` saves in all."""
    writers = {who: appending(who) for who in "ab"}
    for writer in writers.values():
        assert writer.stdout.readline() == "ready\n"
    told = 0
    records = max(1, SAVES // (EACH * len(writers)))
    for number in range(records + 20):
        if number >= records and told:  # on a busy machine they may not meet at once
            break
        image = tmp_path / f"tooth{number}.tif"
        save_record(small_record(), image)
        for writer in writers.values():
            writer.stdin.write(f"{image}\n")
            writer.stdin.flush()
        told += sum(int(writer.stdout.readline()) for writer in writers.values())
        whos = [entry.who for entry in load_record(image).history]
        assert {who: whos.count(who) for who in writers} == dict.fromkeys(writers, EACH)
        assert len(whos) == 1 + EACH * len(writers)
    print(f"{told} times a writer was told that the other had been first")
    for writer in writers.values():
        writer.communicate(timeout=60)
    assert [writer.returncode for writer in writers.values()] == [0, 0]
    assert told > 0
    assert list(tmp_path.glob(".radlength*.part")) == []
