"""What each command costs to start: processor time of its help, and which heavy libraries that loads."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

HEAVY = (
    "numpy",
    "scipy",
    "cv2",
    "pydicom",
    "pydantic",
    "skimage",
    "tifffile",
    "rich",
    "napari",
    "distributed",
)
PROGRAM = """
import sys
from radlength.cli.app import build_app
sys.argv = ["radlength", *sys.argv[1:]]
try:
    build_app()()
finally:
    print("LOADED", *[name for name in {heavy!r} if name in sys.modules])
"""
RUNS = 3


def lines() -> Iterator[str]:
    """Yield a line for each command."""
    from typer.main import get_command

    from radlength.cli.app import build_app

    yield "start of each command (its help; least processor time of three)"
    for name in ("", *sorted(get_command(build_app()).commands)):
        seconds, loaded = zip(
            *(_once([name, "--help"] if name else ["--help"]) for _ in range(RUNS)), strict=True
        )
        yield f"radlength {name:14} {1e3 * min(seconds):5.0f} ms  {loaded[0]}"


def _once(words: list[str]) -> tuple[float, str]:
    import resource

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(heavy=HEAVY), *words],
        capture_output=True,
        text=True,
        check=True,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    told = [
        line.removeprefix("LOADED").strip() for line in done.stdout.splitlines() if line.startswith("LOADED")
    ]
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, told[0]
