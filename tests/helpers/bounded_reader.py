"""A program that reads hostile files with little memory and time, each in a child of its own.

Lines ``READER MEGABYTES SECONDS PATH`` come in. For each a line goes out: how it ended (``read``, the code of a
refusal, ``error-NAME`` or ``signal-N``), seconds, and megabytes above idle. The address space of the child is capped
at what it has when it starts plus the megabytes; where a system cannot do that, only the time is.
"""

from __future__ import annotations

import os
import signal
import sys
import tempfile
import time
from pathlib import Path

from helpers.fuzz_targets import READERS, outcome

WARM = {
    "image": ("cv2", "pydicom", "tifffile", "radlength.imaging.png", "radlength.imaging.jpeg",
              "radlength.imaging.tiff", "radlength.imaging.dicom"),
    "record": ("radlength.record",),
}  # fmt: skip


def serve() -> None:
    """Answer requests until the input ends."""
    for names in WARM.values():
        for name in names:
            __import__(name)
    import cv2

    cv2.setNumThreads(1)
    print("ready", flush=True)
    for line in sys.stdin:
        reader, megabytes, seconds, path = line.rstrip("\n").split(" ", 3)
        print(*answer(reader, int(megabytes), int(seconds), Path(path)), flush=True)


def answer(reader: str, megabytes: int, seconds: int, path: Path) -> tuple[str, ...]:
    """Read one file in a child and return how it ended."""
    out, into = os.pipe()
    started = time.monotonic()
    child = os.fork()
    if child == 0:
        os.close(out)
        try:
            os.write(into, read_capped(reader, megabytes, seconds, path).encode())
        finally:
            os._exit(0)
    os.close(into)
    with os.fdopen(out) as pipe:
        told = pipe.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        told = f"signal-{os.WTERMSIG(status)} 0"
    how, above = told.split()
    return how, f"{time.monotonic() - started:.2f}", above


def read_capped(reader: str, megabytes: int, seconds: int, path: Path) -> str:
    """Return how reading ended and the memory it took, under the caps."""
    import resource

    signal.setitimer(signal.ITIMER_REAL, seconds)
    before = peak_mb()
    pages = int(Path("/proc/self/statm").read_text().split()[0]) if sys.platform == "linux" else 0
    if pages:
        most = pages * resource.getpagesize() + megabytes * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
    with tempfile.TemporaryDirectory() as folder:
        try:
            how = outcome(READERS[reader], path.read_bytes(), Path(folder))
        except BaseException as exc:  # noqa: BLE001 - whatever it is, it is told
            how = f"error-{type(exc).__name__}"
    return f"{how} {peak_mb() - before:.0f}"


def peak_mb() -> float:
    """Return the most memory this process ever held, in megabytes."""
    import resource

    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6


if __name__ == "__main__":
    serve()
