"""A writer whose every system call can be made the last, or made to fail; a program of its own, because it forks.

It reads lines ``ROUNDS`` from its input. For each it puts the first record back, forks a child that stops itself, and
prints the child's number. Woken up, the child saves that many successors and writes one byte to a pipe after each:
``s`` saved, ``r`` refused in a sentence. Then it prints what the child wrote and how it ended.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from helpers.records import small_record

from radlength.errors import RecordError
from radlength.record import load_record, record_path, save_record
from radlength.uncertainty import Marking


def save_successors(image: Path, rounds: int, pipe: int) -> None:
    """Save one successor after another."""
    record = load_record(image)
    os.kill(os.getpid(), signal.SIGSTOP)
    for number in range(rounds):
        record = record.with_marking(Marking(apex_mm=(number + 1) / 100), who=f"round {number}")
        try:
            save_record(record)
        except RecordError:
            os.write(pipe, b"r")
            record = load_record(image)
        else:
            os.write(pipe, b"s")


def serve(image: Path) -> None:
    """Answer requests until the input ends."""
    save_record(small_record(), image)
    path, first = record_path(image), record_path(image).read_bytes()
    for line in sys.stdin:
        for left in image.parent.glob(".radlength-*"):
            left.unlink()
        path.write_bytes(first)
        out, into = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(out)
            code = 1
            try:
                save_successors(image, int(line), into)
                code = 0
            finally:
                os._exit(code)
        os.close(into)
        os.waitpid(child, os.WUNTRACED)
        print(child, flush=True)
        with os.fdopen(out, "rb") as pipe:
            told = pipe.read().decode()
        _, status = os.waitpid(child, 0)
        ended = -os.WTERMSIG(status) if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
        print(told or "-", ended, flush=True)


if __name__ == "__main__":
    serve(Path(sys.argv[1]))
