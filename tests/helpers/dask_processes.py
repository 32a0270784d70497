"""A real Dask scheduler with real workers, each a process of its own, on loopback."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from radlength.batch import Outcome, Task

SECONDS = 60


@dataclass
class Cluster:
    """A running scheduler: its file, its address, its process, its workers; all that ends with it, and its settings."""

    file: Path
    address: str
    scheduler: subprocess.Popen
    workers: list[subprocess.Popen]
    running: list[subprocess.Popen]
    settings: dict[str, str]


@contextmanager
def dask_cluster(folder: Path, *, workers: int = 2, env: dict[str, str] | None = None) -> Iterator[Cluster]:
    """Start a scheduler and workers that end with the block. `env` holds settings, as of TLS."""
    file = folder / "scheduler.json"
    protocol = "tls" if env else "tcp"
    settings = os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])} | (env or {})
    scheduler = _start(
        ["scheduler", "--host", "127.0.0.1", "--port", "0", "--protocol", protocol, "--no-dashboard"],
        ["--scheduler-file", str(file)],
        folder / "scheduler.log",
        settings,
    )
    running = [scheduler]
    try:
        address = _address(file, scheduler, folder / "scheduler.log")
        cluster = Cluster(file, address, scheduler, [], running, settings)
        for _ in range(workers):
            add_worker(cluster, folder)
        yield cluster
    finally:
        for process in reversed(running):
            process.kill()
            process.wait()


def add_worker(cluster: Cluster, folder: Path) -> None:
    """Start one more worker, which ends with the cluster."""
    hand = _start(
        ["worker", cluster.address, "--no-nanny", "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1"],
        ["--protocol", cluster.address.partition("://")[0], "--local-directory", str(folder)],
        folder / f"worker{len(cluster.workers)}.log",
        cluster.settings,
    )
    cluster.workers.append(hand)
    cluster.running.append(hand)


def make_deadly(place: str) -> None:
    """Let this worker be killed, as by the system, whenever it works on the image at a place."""
    from radlength.batch import local

    work = local.work

    def deadly(task: Task) -> Outcome:
        if task.place == place:
            os.kill(os.getpid(), signal.SIGKILL)
        return work(task)

    local.work = deadly


def _start(command: list[str], more: list[str], log: Path, env: dict[str, str]) -> subprocess.Popen:
    with log.open("wb") as out:
        return subprocess.Popen(
            [sys.executable, "-m", "dask", *command, *more], stdout=out, stderr=subprocess.STDOUT, env=env
        )


def _address(file: Path, scheduler: subprocess.Popen, log: Path) -> str:
    until = time.monotonic() + SECONDS
    while time.monotonic() < until:
        if scheduler.poll() is not None:
            break
        try:
            return json.loads(file.read_text())["address"]
        except (OSError, ValueError, KeyError):
            time.sleep(0.05)
    raise AssertionError(log.read_text())
