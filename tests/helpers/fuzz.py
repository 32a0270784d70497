"""Fuzz readers in processes of their own, at the same time, and hear what was found."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from helpers.bounded import environment
from helpers.fuzz_run import FOUND_CODES
from helpers.fuzz_seeds import write_seeds

GROUPS = (("image", "dicom"), ("record", "case", "marks", "set", "attempt", "marker"))
"""Readers that are fuzzed in one process."""

START_S = 300
"""Time a process may take besides fuzzing, on a loaded machine."""


@dataclass(frozen=True)
class Fuzzed:
    """What came of it: the last words, how many inputs were tried, whether something was found."""

    readers: tuple[str, ...]
    words: str
    tried: int
    found: bool


def fuzz(
    groups: Sequence[tuple[str, ...]],
    folder: Path,
    *,
    seconds: int,
    seed: int = 1,
    timeout: int = 30,
    megabytes: int = 2000,
) -> list[Fuzzed]:
    """Fuzz each group in a process, all at once.

    Raises
    ------
    RuntimeError
        A process ended for another reason than its time or a find.
    """
    started = [
        (readers, _start(readers, folder / "-".join(readers), seconds, seed, timeout, megabytes))
        for readers in groups
    ]
    latest = time.monotonic() + seconds + START_S
    try:
        return [_ended(readers, process, latest) for readers, process in started]
    finally:
        for _, process in started:
            if process.poll() is None:
                process.kill()
                process.communicate()


def _ended(readers: tuple[str, ...], process: subprocess.Popen[str], latest: float) -> Fuzzed:
    """Wait for a process, and end it where it does not end by itself."""
    try:
        words = process.communicate(timeout=max(latest - time.monotonic(), 1))[0]
    except subprocess.TimeoutExpired:
        process.kill()
        words = process.communicate()[0] + "\nit did not end"
    if process.returncode not in (0, -9, *FOUND_CODES) and not _alarmed_late(process.returncode, words):
        words = f"exit {process.returncode}: {words[-3000:]}"
        raise RuntimeError(words)
    return Fuzzed(readers, words[-9000:], _tried(words), process.returncode != 0)


def _alarmed_late(code: int, words: str) -> bool:
    """Return whether the clock of one input rang after something was found, while the process was ending."""
    return code == -signal.SIGALRM and "=== Uncaught Python exception: ===" in words


def _start(readers, folder, seconds, seed, timeout, megabytes) -> subprocess.Popen[str]:
    if not (folder / "seeds").exists():
        write_seeds(folder / "seeds", readers)
    options = {"seconds": seconds, "seed": seed, "timeout": timeout, "megabytes": megabytes, "folder": folder}
    return subprocess.Popen(
        [
            sys.executable,
            Path(__file__).with_name("fuzz_run.py"),
            ",".join(readers),
            *(word for name, value in options.items() for word in (f"--{name}", str(value))),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        env=environment(),
    )


def _tried(words: str) -> int:
    lines = [line for line in words.splitlines() if line.startswith("stat::number_of_executed_units:")]
    return int(lines[-1].split()[-1]) if lines else 0
