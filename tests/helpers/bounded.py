"""Read a hostile file under a cap of memory and time, in another process, and hear how it ended."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Ended:
    """How reading ended: ``read``, a code, ``error-NAME`` or ``signal-N``; seconds; megabytes above idle."""

    how: str
    seconds: float
    megabytes: float

    @property
    def refused(self) -> bool:
        """Whether the reader said no in its own words."""
        return self.how != "read" and not self.how.startswith(("error-", "signal-"))


class Bounded:
    """A running reader."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / "hostile"
        self._process = subprocess.Popen(
            [sys.executable, "-P", Path(__file__).with_name("bounded_reader.py")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=environment(),
        )
        assert self._process.stdout.readline() == "ready\n"

    def read(self, data: bytes, reader: str = "image", *, megabytes: int = 400, seconds: int = 30) -> Ended:
        """Read bytes with a reader of :data:`helpers.fuzz_targets.READERS`."""
        self._path.write_bytes(data)
        self._process.stdin.write(f"{reader} {megabytes} {seconds} {self._path}\n")
        self._process.stdin.flush()
        how, took, above = self._process.stdout.readline().split()
        return Ended(how, float(took), float(above))

    def close(self) -> None:
        """End the program."""
        self._process.communicate()


def environment() -> dict[str, str]:
    """Return the environment of a program that uses the helpers."""
    import os

    return os.environ | {"PYTHONPATH": str(Path(__file__).parents[1]), "OPENBLAS_NUM_THREADS": "1"}


@contextmanager
def bounded(folder: Path) -> Iterator[Bounded]:
    """Start a bounded reader that ends with the block."""
    running = Bounded(folder)
    try:
        yield running
    finally:
        running.close()
