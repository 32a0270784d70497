"""The page of figures: ours beside a named peer and a physical limit, and how the cost grows.

``python tests/benchmarks/page.py`` prints it. ``--check`` fails where a ratio is more than a fifth above the stored
one (`ratios.json`); ``--store`` stores what was measured; ``--batch`` adds whole batches (a minute or two, a quiet
machine), ``--start`` what every command costs to start, ``--tip`` how near a tip can be found at all. Times are the
least of many runs, since other work only adds.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
STORED = HERE / "ratios.json"
SLACK = 1.2
"""Ratio of a new to a stored ratio that is a regression."""


@dataclass(frozen=True)
class Row:
    """One line: what, ours and peer as names of benchmarks, the peer in words.

    A disk is measured by the clock, and told but not checked: its ratio follows what else the machine writes.
    """

    what: str
    ours: str
    peer: str
    words: str
    disk: bool = False


ROWS = (
    Row("open a 4-Mpx TIFF", "imaging::TestOpeningFourMegapixels::test_ours[four.tif]",
        "imaging::TestOpeningFourMegapixels::test_decoder_and_sha256[four.tif]", "tifffile and SHA-256"),
    Row("open a 4-Mpx PNG", "imaging::TestOpeningFourMegapixels::test_ours[four.png]",
        "imaging::TestOpeningFourMegapixels::test_decoder_and_sha256[four.png]", "OpenCV and SHA-256"),
    Row("open a 4-Mpx DICOM", "imaging::TestOpeningFourMegapixels::test_ours[four.dcm]",
        "imaging::TestOpeningFourMegapixels::test_decoder_and_sha256[four.dcm]", "pydicom and SHA-256"),
    Row("length with its interval", "core::TestClosedForm::test_ours_with_curves_marks_and_findings",
        "core::TestClosedForm::test_gtc_ratio_only", "GTC, the ratio only"),
    Row("100 000 draws", "core::TestMonteCarlo::test_ours_at_length_level",
        "core::TestMonteCarlo::test_metrolopy_ratio_only", "metrolopy, the ratio only"),
    Row("100 000 draws through the clicks", "core::TestMonteCarlo::test_ours_through_clicks_and_fit",
        "core::TestMonteCarlo::test_metrolopy_ratio_only", "metrolopy, the ratio only"),
    Row("parse a record", "record::test_parse_record", "record::test_parse_with_the_standard_library", "json"),
    Row("save a record", "batch::TestSave::test_ours",
        "batch::TestSave::test_write_flush_and_rename_the_same_bytes[file-and-folder]",
        "bare write, flush, rename, flush of the folder", disk=True),
    Row("the same, not lasting", "batch::TestSave::test_ours",
        "batch::TestSave::test_write_flush_and_rename_the_same_bytes[file-only]",
        "bare write, flush, rename", disk=True),
    Row("load a case of 1000 events", "case::test_load_a_long_case",
        "case::test_parse_with_the_standard_library", "json"),
    Row("save a case of 1000 events", "case::test_save_a_long_case",
        "case::test_write_flush_and_rename_the_same_bytes", "bare write, flush, rename", disk=True),
    Row("quality of 1.5 Mpx", "quality::test_whole_quality_with_marks", "quality::test_peer_fft", "one 2-D FFT"),
    Row("estimate of a 1.5-Mpx TIFF", "batch::TestEstimate::test_ours",
        "batch::TestEstimate::test_tifffile_sha256_and_json", "tifffile, SHA-256, json"),
)  # fmt: skip


def measured(rows: Iterable[Row] = ROWS) -> dict[str, float]:
    """Return the least seconds of every benchmark the rows name, run with pytest-benchmark.

    Processor time, and the median of the clock for what waits for a disk.
    """
    rows = tuple(rows)
    found: dict[str, float] = {}
    for disk in (False, True):
        wanted = sorted({name for row in rows if row.disk == disk for name in (row.ours, row.peer)})
        found |= _benchmarks(wanted, "perf_counter" if disk else "process_time", "median" if disk else "min")
    return found


def _benchmarks(wanted: list[str], timer: str, statistic: str) -> dict[str, float]:
    if not wanted:
        return {}
    places = [f"{HERE}/test_bench_{name.replace('::', '.py::', 1)}" for name in wanted]
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "benchmarks.json"
        words = ["--benchmark-only", f"--benchmark-json={out}", "-q", "-p", "no:randomly", "--no-header"]
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *places, *words, f"--benchmark-timer=time.{timer}"],
            cwd=HERE.parents[1],
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            sys.exit(done.stdout[-3000:])
        found = json.loads(out.read_text())["benchmarks"]
    named = {one["fullname"].split("test_bench_")[1].replace(".py::", "::", 1): one["stats"] for one in found}
    return {name: named[name][statistic] for name in wanted}


def ratios(seconds: dict[str, float], rows: Iterable[Row] = ROWS) -> dict[str, float]:
    """Return ours over the peer, by what is done, for what no disk disturbs."""
    return {row.what: seconds[row.ours] / seconds[row.peer] for row in rows if not row.disk}


def table(seconds: dict[str, float], rows: Iterable[Row] = ROWS) -> list[str]:
    """Return the lines of the speed table."""
    lines = [f"{'what':34} {'ours':>10} {'peer':>10} {'ratio':>7}  peer"]
    for row in rows:
        ours, peer = seconds[row.ours], seconds[row.peer]
        lines.append(
            f"{row.what:34} {1e3 * ours:7.2f} ms {1e3 * peer:7.2f} ms {ours / peer:7.2f}  {row.words}"
        )
    return lines


def regressions(new: dict[str, float], stored: dict[str, float]) -> list[str]:
    """Return what became slower, against its peer, by more than a fifth, and what nobody stored.

    Examples
    --------
    >>> regressions({"a": 1.25, "b": 1.1, "c": 1.0}, {"a": 1.0, "b": 1.0})
    ['a: 1.25 of the peer, stored 1.00', 'c: no stored ratio']
    """
    found = []
    for what, ratio in new.items():
        if what not in stored:
            found.append(f"{what}: no stored ratio")
        elif ratio > SLACK * stored[what]:
            found.append(f"{what}: {ratio:.2f} of the peer, stored {stored[what]:.2f}")
    return found


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("check", "store", "batch", "start", "tip"):
        parser.add_argument(f"--{name}", action="store_true")
    given = parser.parse_args()
    seconds = measured()
    found = ratios(seconds)
    print(*table(seconds), sep="\n")
    _more(given)
    if given.store:
        STORED.write_text(
            json.dumps({name: round(ratio, 3) for name, ratio in found.items()}, indent=1) + "\n"
        )
    wrong = regressions(found, json.loads(STORED.read_text())) if given.check else []
    if wrong:  # once more: the least of two runs is less the machine's doing
        named = [row for row in ROWS if any(line.startswith(f"{row.what}:") for line in wrong)]
        wrong = regressions(ratios(measured(named), named), json.loads(STORED.read_text()))
    print(*wrong, sep="\n")
    return int(bool(wrong))


def _more(given: argparse.Namespace) -> None:
    sys.path[:0] = [str(HERE), str(HERE.parent)]
    import page_growth
    import page_limits

    print("", *page_limits.lines(), sep="\n")
    print("", *page_growth.lines(), sep="\n")
    if given.start:
        import page_start

        print("", *page_start.lines(), sep="\n")
    if given.tip:
        print("", *page_limits.tip_lines(), sep="\n")
    if given.batch:
        import page_batch

        print("", *page_batch.lines(), sep="\n")


if __name__ == "__main__":
    sys.exit(main())
