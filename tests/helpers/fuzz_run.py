"""A program that fuzzes readers, guided by the lines they reach: ``fuzz_run.py NAME,NAME --seconds N --folder DIR``.

It ends with 0 where nothing was found, with 77 at an error that is no refusal, or a wrong number, and with 70 to 77 at
a reader that takes too long or too much memory. What led there is kept in the folder. libFuzzer by way of atheris: the
file's first byte says which of several readers gets the rest.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

LOADED = (
    "radlength.imaging",
    "radlength.dicom.source",
    "radlength.record",
    "radlength.exercise",
    "radlength.cli",
    "helpers.fuzz_planted",
)
MEGABYTES, SECONDS, LONGEST = 2_000, 30, 20_000
FOUND_CODES = range(70, 78)


def main() -> None:
    """Fuzz until the time is over."""
    import atheris

    given = _arguments()
    names = given.readers.split(",")
    with atheris.instrument_imports(include=list(LOADED)):
        targets = _targets(names)
    _cap(given.megabytes)
    given.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        one = _one([targets[name] for name in names], Path(scratch))
        options = [
            f"-artifact_prefix={given.folder}{os.sep}",
            "-rss_limit_mb=0",  # it counts the memory of whoever started it; the cap of this process holds
            f"-timeout={given.timeout}",
            f"-max_len={LONGEST}",
            f"-seed={given.seed}",
            f"-runs={given.runs}",
            f"-max_total_time={given.seconds}",
            "-print_final_stats=1",
            "-verbosity=0",
        ]
        atheris.Setup([sys.argv[0], *options, str(given.folder / "seeds")], one)
        atheris.Fuzz()


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("readers")
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--runs", type=int, default=-1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--timeout", type=int, default=SECONDS)
    parser.add_argument("--megabytes", type=int, default=MEGABYTES)
    parser.add_argument("--folder", type=Path, required=True)
    return parser.parse_args()


def _targets(names):
    """Load what is to be fuzzed while imports are instrumented."""
    from helpers import fuzz_planted
    from helpers.fuzz_targets import READERS, outcome

    if "image" in names:
        from radlength.imaging import dicom, jpeg, png, tiff  # noqa: F401 - loaded for its lines
    readers = READERS | fuzz_planted.READERS
    with tempfile.TemporaryDirectory() as scratch:
        for name in names:
            outcome(readers[name.replace("planted-lying", "record")], b"{}", Path(scratch))
    return readers


def _cap(megabytes: int) -> None:
    """Let the process have that much memory above what it has, where the system can."""
    if sys.platform == "linux":
        import resource

        pages = int(Path("/proc/self/statm").read_text().split()[0])
        most = pages * resource.getpagesize() + megabytes * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _one(readers, scratch: Path):
    from helpers.fuzz_targets import outcome, repaired

    def one(data: bytes) -> None:
        if not data:
            return
        reader, rest = readers[data[0] % len(readers)], data[1:]
        outcome(reader, rest, scratch)
        whole = repaired(rest)
        if whole != rest:
            outcome(reader, whole, scratch)

    return one


if __name__ == "__main__":
    main()
