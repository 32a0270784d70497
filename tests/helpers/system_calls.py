"""Kill a writer at its n-th system call, make the n-th fail, or log all of them: with strace, on Linux."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

_CALL = re.compile(r"(\w+)\(")


def can_trace() -> bool:
    """Return whether strace is there and may look at another process."""
    if sys.platform != "linux" or shutil.which("strace") is None:
        return False
    return subprocess.run(["strace", "-qq", "-o", os.devnull, "true"], check=False).returncode == 0


@dataclass
class Ended:
    """How a writer ended: letters of its rounds, its exit status (minus the signal), the log of its calls."""

    told: str
    status: int
    log: Path


class Writer:
    """A running fault writer.

    Parameters
    ----------
    image
        Where its record lies; the image need not exist.
    """

    def __init__(self, image: Path) -> None:
        self.image = image
        self._log = image.with_name("calls.log")
        program = Path(__file__).with_name("fault_writer.py")
        self._process = subprocess.Popen(
            [sys.executable, program, image],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])},
        )

    def run(self, rounds: int, *options: str) -> Ended:
        """Let a child save `rounds` times under strace with `options`."""
        child = int(self._ask(f"{rounds}\n"))
        tracer = subprocess.Popen(
            ["strace", "-y", "-xx", "-s", "1000000", "-o", self._log, "-p", str(child), *options],
            stderr=subprocess.PIPE,
            text=True,
        )
        while "attached" not in (line := tracer.stderr.readline()):
            assert line, "strace ended"
        os.kill(child, signal.SIGCONT)
        told, status = self._process.stdout.readline().split()
        tracer.communicate()
        return Ended(told.strip("-"), int(status), self._log)

    def calls(self, rounds: int) -> list[tuple[str, int]]:
        """Return the system calls of so many saves in order, each with how many of its name it makes."""
        names = [
            match[1] for line in self.run(rounds).log.read_text().splitlines() if (match := _CALL.match(line))
        ]
        return [(name, names[: place + 1].count(name)) for place, name in enumerate(names)]

    def killed_at(self, rounds: int, call: tuple[str, int]) -> Ended:
        """Kill the child at one of its :meth:`calls`, before the call does anything."""
        return self.run(rounds, f"--inject={call[0]}:signal=KILL:when={call[1]}")

    def failing_at(self, rounds: int, call: tuple[str, int], error: str) -> Ended:
        """Make one of the :meth:`calls` fail with an error such as ENOSPC."""
        return self.run(rounds, f"--inject={call[0]}:error={error}:when={call[1]}")

    def close(self) -> None:
        """End the program."""
        self._process.communicate()

    def _ask(self, line: str) -> str:
        self._process.stdin.write(line)
        self._process.stdin.flush()
        return self._process.stdout.readline()


@contextmanager
def fault_writer(image: Path) -> Iterator[Writer]:
    """Start a fault writer that ends with the block."""
    writer = Writer(image)
    try:
        yield writer
    finally:
        writer.close()
