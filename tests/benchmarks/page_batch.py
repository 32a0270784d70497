"""Whole batches: images a second on one and two processes, a cluster beside them, memory of a worker.

Clock times mean something on a quiet machine only; processor times do on any, and both are told. Linux, for /proc.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from helpers.batches import add, tree
from helpers.dask_processes import dask_cluster
from helpers.records import radiograph

from radlength.batch import on_processes, on_scheduler, run_batch
from radlength.batch.task import Task
from radlength.batch.work import work

IMAGES = 500
ROWS, COLUMNS = 1300, 1154


def lines(images: int = IMAGES) -> Iterator[str]:
    """Yield what was measured."""
    yield f"batches of {images} images, {ROWS} x {COLUMNS}, 16 bit, with records; load average {os.getloadavg()[0]:.1f}"
    with TemporaryDirectory() as name:
        folder = Path(name)
        root = tree(folder / "tree", images, rows=ROWS, columns=COLUMNS)
        one = _run(root, folder / "one", partial(on_processes, workers=1), images)
        two = _run(root, folder / "two", partial(on_processes, workers=2), images)
        yield _told("one process", one, images)
        yield _told("two processes", two, images)
        yield (
            f"  two-core efficiency: {one[0] / (2 * two[0]):.0%} by the clock, {one[1] / two[1]:.0%} by processor time "
            "(start of the processes counted)"
        )
        yield from _machine(root, images // 2)
        yield from _cluster(root, folder, two, images)
    yield from _memory()


def _machine(root: Path, images: int) -> Iterator[str]:
    """Yield what two programs that know nothing of each other reach here, started and warm: more cannot be had."""
    (alone,), both = _programs(root, images, 1), _programs(root, images, 2)
    clock = alone[0] / (sum(one[0] for one in both) / 2)
    spent = alone[1] / (sum(one[1] for one in both) / 2)
    yield f"  two programs apart, without their start: {clock:.0%} by the clock, {spent:.0%} by processor time"


PROGRAM = """
import sys, time
from pathlib import Path
from radlength.batch.task import Task
from radlength.batch.work import work
root, images = sys.argv[1], int(sys.argv[2])
tasks = [Task("estimate", root, path.relative_to(root).as_posix()) for path in sorted(Path(root).rglob("*.tif"))]
work(tasks[0])
print("warm", flush=True)
sys.stdin.readline()
begun, spent = time.perf_counter(), time.process_time()
for task in tasks[:images]:
    work(task)
print(time.perf_counter() - begun, time.process_time() - spent)
"""


def _programs(root: Path, images: int, count: int) -> list[tuple[float, float]]:
    """Return clock and processor seconds of each of so many programs that work at once."""
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(root), str(images)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(count)
    ]
    for one in running:
        assert one.stdout.readline() == "warm\n"
    for one in running:
        one.stdin.write("go\n")
        one.stdin.flush()
    told = [one.communicate()[0].split() for one in running]
    return [(float(clock), float(spent)) for clock, spent in told]


READY = "import distributed, sys; distributed.Client(sys.argv[1]).wait_for_workers(2, timeout=60)"
"""Waits for both workers in a process of its own: this one must not know Dask before its first batch."""


def _cluster(root: Path, folder: Path, two: tuple[float, float], images: int) -> Iterator[str]:
    """Yield a first batch, in which workers load their libraries, and a second one on the same cluster.

    The cluster is there before: what Dask spends on its own start belongs to no batch, and is told apart.
    """
    with dask_cluster(folder, workers=2) as cluster:
        hands = [process.pid for process in cluster.workers]
        subprocess.run([sys.executable, "-c", READY, cluster.address], check=True)
        yield f"two workers of a cluster, their own start: {sum(map(_cpu_of, hands)):.1f} s of processor time"
        runner = partial(on_scheduler, address=cluster.address, plain=True)
        for what in ("first", "second"):
            before, begun, own = sum(map(_cpu_of, hands)), time.perf_counter(), time.process_time()
            run_batch(root, "estimate", folder / what, runner=runner)
            wall, spent = time.perf_counter() - begun, sum(map(_cpu_of, hands)) - before
            client = time.process_time() - own
            yield (
                f"two workers of a cluster, {what} batch: {images / wall:.0f} images/s; workers {spent:.1f} s, client "
                f"{client:.1f} s of processor time"
            )
            yield (
                f"  overhead over two processes: {wall / two[0] - 1:+.0%} by the clock, "
                f"{(spent + client) / two[1] - 1:+.0%} by processor time"
            )


def _told(what: str, found: tuple[float, float], images: int) -> str:
    return f"{what}: {images / found[0]:.0f} images/s by the clock, {images / found[1]:.0f} a second of processor time"


def _run(root: Path, out: Path, runner: Callable, images: int) -> tuple[float, float]:
    """Return clock and processor seconds of a batch."""
    begun, before = time.perf_counter(), _spent()
    done = run_batch(root, "estimate", out, runner=runner)
    assert (done.images, done.failed) == (images, 0)
    return time.perf_counter() - begun, _spent() - before


def _spent() -> float:
    import resource

    usages = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in usages)


def _cpu_of(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _memory() -> Iterator[str]:
    """Yield the most memory above idle that one image takes, in images as they are decoded."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        sizes = [(960, 480), (ROWS, COLUMNS), (2830, 2830)]
        for number, (rows, columns) in enumerate(sizes):
            add(folder / f"tooth{number}.tif", radiograph(number, rows=rows, columns=columns))
        tasks = [Task("estimate", name, f"tooth{number}.tif") for number in range(3)]
        work(tasks[0])
        for task, (rows, columns) in zip(tasks[1:], sizes[1:], strict=True):
            Path("/proc/self/clear_refs").write_text("5")
            idle = _status("VmRSS")
            work(task)
            above, decoded = (_status("VmHWM") - idle) / 1e6, 2 * rows * columns / 1e6
            yield (
                f"memory above idle for {decoded:.1f} MB decoded: {above:.1f} MB; the bound is 6x + 50 MB = "
                f"{6 * decoded + 50:.0f} MB"
            )


def _status(key: str) -> float:
    line = next(one for one in Path("/proc/self/status").read_text().splitlines() if one.startswith(key))
    return 1024.0 * int(line.split()[1])


if __name__ == "__main__":
    for told in lines():
        print(told, flush=True)
