"""Rounds of a writer that is killed at a random moment; run as a program of its own, because it forks.

``python kill_rounds.py FOLDER ROUNDS SEED`` prints one JSON line a round: how many saves the writer reported, how many
the record on disk holds, and whether a temporary file was left (then the kill came in the middle of writing).
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
import time
from pathlib import Path

from helpers.records import full_record

from radlength.record import load_record, save_record
from radlength.uncertainty import Marking


def write_until_killed(image: Path, pipe: int) -> None:
    """Save successor after successor, and report the length of the history after each."""
    record = load_record(image)
    while True:
        record = record.with_marking(Marking(apex_mm=len(record.history) % 7 / 10), who="writer")
        save_record(record)
        os.write(pipe, b"%d\n" % len(record.history))


def one_round(image: Path, wait_s: float) -> dict[str, object]:
    """Start a writer, kill it, and look at what is on disk."""
    out, into = os.pipe()
    writer = os.fork()
    if writer == 0:
        os.close(out)
        write_until_killed(image, into)
    os.close(into)
    select.select([out], [], [])
    time.sleep(wait_s)
    os.kill(writer, signal.SIGKILL)
    os.waitpid(writer, 0)
    with os.fdopen(out) as report:
        reported = [int(line) for line in report.read().splitlines()]
    left = len([path for path in image.parent.iterdir() if path.suffix == ".part"])
    history = len(load_record(image).history)
    return {"reported": reported[-1], "on_disk": history, "left": left}


def main() -> None:
    """Run the rounds that the command line asks for."""
    folder, rounds, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    image = folder / "tooth.tif"
    choose = random.Random(seed)
    for _ in range(rounds):
        image.with_name("tooth.tif.radlength.json").unlink(missing_ok=True)
        save_record(full_record(), image)
        print(json.dumps(one_round(image, choose.uniform(0, 0.03))), flush=True)


if __name__ == "__main__":
    main()
