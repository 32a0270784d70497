"""Programs that write one case at once are told and lose nothing; a killed one leaves a whole case."""

import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from helpers.made_case import with_canal

from radlength.record import load_case, save_case

TESTS = Path(__file__).parents[1]
ROUNDS = 8

APPEND = textwrap.dedent("""
    import sys
    from helpers.made_case import with_length
    from radlength.errors import RecordError
    from radlength.record import load_case, save_case

    folder, value, most = sys.argv[1], float(sys.argv[2]), int(sys.argv[3])
    print("ready", flush=True)
    sys.stdin.readline()
    done = 0
    while done < most:
        try:
            save_case(with_length(load_case(folder), value))
        except RecordError as error:
            assert error.code == "case-changed", error
        else:
            done += 1
            print(done, flush=True)
""")


def start(folder, value, most):
    environment = os.environ | {"PYTHONPATH": str(TESTS)}
    writer = subprocess.Popen(
        [sys.executable, "-c", APPEND, str(folder), str(value), str(most)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert writer.stdout.readline() == "ready\n"
    return writer


def test_programs_that_write_at_once_are_told_and_lose_nothing(tmp_path):
    save_case(with_canal(), tmp_path)
    writers = [start(tmp_path, value, 12) for value in (20.0, 21.0, 22.0)]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate(timeout=60)
    assert [writer.returncode for writer in writers] == [0, 0, 0]
    values = [one.length.value_mm for one in load_case(tmp_path).lengths("46 MB")]
    assert {value: values.count(value) for value in (20.0, 21.0, 22.0)} == {20.0: 12, 21.0: 12, 22.0: 12}


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_writer_killed_at_any_moment_leaves_a_whole_case(tmp_path):
    choose = random.Random(20260102)
    save_case(with_canal(), tmp_path)
    before = 0
    for _ in range(ROUNDS):
        writer = start(tmp_path, 21.0, 10_000)
        writer.stdin.write("go\n")
        writer.stdin.flush()
        writer.stdout.readline()
        time.sleep(choose.uniform(0, 0.03))
        writer.kill()
        reported = [int(line) for line in writer.communicate()[0].split()]
        kept = len(load_case(tmp_path).lengths("46 MB"))
        told = before + max([1, *reported])
        assert kept in (told, told + 1)
        before = kept
        assert len([path for path in tmp_path.iterdir() if path.suffix == ".part"]) <= 1
