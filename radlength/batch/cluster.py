"""Tasks on an existing Dask scheduler. A scheduler runs any code it is sent: use only one that you trust, over TLS."""

from __future__ import annotations

import contextlib
import json
import logging
import platform
import time
from collections.abc import Iterable, Iterator
from concurrent.futures import CancelledError
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from radlength._version import __version__
from radlength.batch.local import DIED, Chunk, work_all
from radlength.batch.task import Outcome, Task, failed
from radlength.errors import BatchError
from radlength.length import ALGORITHM

RETRIES = 2
MESSAGE_S, MESSAGE_BYTES, MOST = 0.25, 4_000_000, 32
"""Work in a message: so many seconds, at most so many bytes begun and so many tasks. Each message costs some time."""
LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
SECONDS = 20
LOOK_S = 1.0
"""So often is looked whether a scheduler that says nothing is still there."""
SILENT_S = 15.0
"""So long may nothing be done before it is asked whether there are workers left."""
NO_WORKERS = (
    "The scheduler has no workers left, so the batch waits for one. Start a worker, or stop with Ctrl+C: what is done "
    "is kept and not done again."
)
A_WORKER = "A worker came: the batch goes on."
_said = logging.getLogger(__name__)


def on_scheduler(
    tasks: Iterable[Task],
    address: str | None = None,
    *,
    scheduler_file: Path | None = None,
    plain: bool = False,
) -> Iterator[Outcome]:
    """Do tasks on a Dask scheduler; outcomes come as they are done, in any order.

    Parameters
    ----------
    tasks
        Taken as workers get free.
    address
        ``tls://host:port``; ``tcp://`` on this machine only, unless `plain`.
    scheduler_file
        File that a scheduler writes with its address, instead of one.
    plain
        Whether an address without encryption on another machine is meant.

    Raises
    ------
    BatchError
        Dask is not installed, the address is not encrypted, no scheduler answers, it has no workers, a worker has
        another version of this program, or the scheduler went away.

    Notes
    -----
    A scheduler whose workers all died is waited for until one comes: a warning of the logger
    ``radlength.batch.cluster`` says so, which is written on the terminal where nobody listens to it.
    """
    client = _connect(address, scheduler_file, plain=plain)
    try:
        yield from _outcomes(client, tasks, 2 * _check_workers(client))
    except (OSError, CancelledError) as exc:
        raise _gone(address or str(scheduler_file)) from exc
    finally:
        _close(client)


def _close(client: Any) -> None:
    """Say goodbye; what Dask writes of a connection that was lost is no news to anybody."""
    written = logging.getLogger("distributed.client")
    before, written.disabled = written.disabled, True
    try:
        client.close()
    finally:
        written.disabled = before


def _gone(subject: str) -> BatchError:
    return BatchError(
        "the scheduler went away while it worked",
        remedy="see that it runs, then start the batch again: what is done is not done again",
        code="batch-scheduler-gone",
        subject=subject,
    )


def preflight(facts: dict[str, dict[str, str]]) -> None:
    """Refuse workers that would give other results: facts by worker, as :func:`worker_facts` tells them.

    Raises
    ------
    BatchError
        There is no worker, or one differs.
    """
    if not facts:
        raise BatchError(
            "the scheduler has no workers", "one or more", "start workers", code="batch-no-workers"
        )
    own = worker_facts()
    for name, theirs in sorted(facts.items()):
        other = [f"{key} {theirs.get(key)}, here {own[key]}" for key in own if theirs.get(key) != own[key]]
        if other:
            raise BatchError(
                f"a worker differs: {'; '.join(other)}",
                "the same versions everywhere, so that results do not depend on where they are made",
                "install the same radlength and numpy on the worker",
                code="batch-worker-differs",
                subject=name,
            )


def worker_facts() -> dict[str, str]:
    """Return the versions a result may depend on."""
    import numpy as np
    import scipy

    return {
        "radlength": __version__,
        "algorithm": ALGORITHM,
        "python": ".".join(platform.python_version_tuple()[:2]),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
    }


def _connect(address: str | None, scheduler_file: Path | None, *, plain: bool) -> Any:
    try:
        import distributed
    except ImportError as exc:
        raise BatchError(
            "a scheduler needs Dask, which is not installed",
            remedy='pip install "radlength[cluster]"',
            code="batch-no-dask",
        ) from exc
    if address is not None:
        _check_address(address, plain=plain)
    elif scheduler_file is not None:
        _check_address(_address_in(scheduler_file), plain=plain)
    try:
        where = {"address": address} if address is not None else {"scheduler_file": str(scheduler_file)}
        client: Any = distributed.Client
        return client(**where, timeout=SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as exc:
        raise BatchError(
            "no scheduler answers there",
            "the address of a running Dask scheduler",
            "check the address, and that the scheduler runs",
            code="batch-scheduler",
            subject=address or str(scheduler_file),
        ) from exc


def _address_in(scheduler_file: Path) -> str:
    """Return the address in the file of a scheduler: it is looked at like one that was typed."""
    if not scheduler_file.is_file():
        raise BatchError(
            "there is no such scheduler file", code="batch-scheduler-file", subject=str(scheduler_file)
        )
    try:
        return str(json.loads(scheduler_file.read_bytes())["address"])
    except (OSError, ValueError, TypeError, LookupError) as exc:
        raise BatchError(
            "the scheduler file holds no address",
            "the file that a Dask scheduler writes",
            "start the scheduler with --scheduler-file, or give its address",
            code="batch-scheduler-file",
            subject=str(scheduler_file),
        ) from exc


def _check_address(address: str, *, plain: bool) -> None:
    scheme, _, rest = address.partition("://")
    local = rest.rpartition(":")[0] in LOOPBACK or rest in LOOPBACK
    if scheme == "tls" or (scheme == "tcp" and (local or plain)):
        return
    raise BatchError(
        f"the scheduler's address begins with {scheme}://"
        if rest
        else "the scheduler's address has no scheme",
        "tls://host:port; tcp:// on this machine only",
        "a scheduler runs any code it is sent and sees every image: encrypt it, or say --plain",
        code="batch-not-encrypted",
        subject=address,
    )


def _check_workers(client: Any) -> int:
    """Check every worker and return how many threads they have together; workers may need a moment to come."""
    with contextlib.suppress(TimeoutError):
        client.wait_for_workers(1, timeout=SECONDS)
    preflight(client.run(worker_facts))
    return sum(client.nthreads().values())


def _outcomes(client: Any, tasks: Iterable[Task], most: int) -> Iterator[Outcome]:
    """Do tasks, several in a message; those of messages whose workers died are done again, one at a time."""
    source, again = iter(tasks), list[Task]()
    running: dict[Any, Chunk] = {}
    done = SimpleQueue[Any]()
    size = 1

    def send() -> None:
        chunk = next_chunk(source, size)
        if chunk:
            future = _submitted(client, chunk)
            running[future] = chunk
            future.add_done_callback(done.put)

    for _ in range(most):
        send()
    while running:
        future = _next(client, done)
        chunk = running.pop(future)
        if future.status == "finished":
            outcomes, seconds = _result(future)
            size = chunk_size(len(chunk), seconds)
            yield from outcomes
        else:
            again.extend(chunk)
        future.release()
        send()
    for task in again:
        yield from _alone(client, task)


def _next(client: Any, done: SimpleQueue[Any]) -> Any:
    """Wait for the next future that ends; all end at once, without a result, where the scheduler is lost.

    A scheduler whose last worker died keeps the tasks until another comes: that is said once, and waited for.

    Raises
    ------
    CancelledError
        The scheduler is lost.
    """
    begun, told = time.monotonic(), False
    while True:
        with contextlib.suppress(Empty):
            future = done.get(timeout=LOOK_S)
            if future.status != "cancelled":
                return future
            raise CancelledError
        if client.status not in ("running", "connecting"):
            raise CancelledError
        if time.monotonic() - begun >= SILENT_S:
            told = _tell_of_workers(client, told=told)


def _tell_of_workers(client: Any, *, told: bool) -> bool:
    """Say that there are no workers left, or some again; return whether the first was said last."""
    none = not client.nthreads()
    if none != told:
        _said.warning(NO_WORKERS if none else A_WORKER)
    return none


def _result(future: Any) -> tuple[tuple[Outcome, ...], float]:
    """Return what a message brought and its seconds.

    Raises
    ------
    BatchError
        A worker that came after the others were looked at has other versions.
    """
    outcomes, seconds, *facts = future.result()
    preflight({"a worker that came later": facts[0] if facts else {}})
    return outcomes, seconds


def _submitted(client: Any, chunk: Chunk) -> Any:
    import dask

    with dask.config.set({"distributed.admin.large-graph-warning-threshold": "2GB"}):  # an image is no graph
        return client.submit(work_timed, chunk, pure=False, retries=RETRIES)


def _alone(client: Any, task: Task) -> tuple[Outcome, ...]:
    """Do a task while nothing else runs: if its worker dies now, that is its doing."""
    future, done = _submitted(client, (task,)), SimpleQueue[Any]()
    future.add_done_callback(done.put)
    if _next(client, done).status != "finished":
        return (failed(task.place, "", "worker-died", f"{task.place}: {DIED}"),)
    return _result(future)[0]


def work_timed(tasks: Chunk) -> tuple[tuple[Outcome, ...], float, dict[str, str]]:
    """Do several tasks one after another; processor time in seconds, and the versions of this worker, are told too."""
    begun = time.thread_time()
    return work_all(tasks), time.thread_time() - begun, worker_facts()


def chunk_size(tasks: int, seconds: float) -> int:
    """Return how many tasks make a message, after one of `tasks` took `seconds`: work for a quarter of a second.

    Examples
    --------
    >>> chunk_size(1, 8.0), chunk_size(2, 0.05), chunk_size(16, 0.0)
    (1, 10, 32)
    """
    return max(1, min(MOST, int(MESSAGE_S * tasks / max(seconds, 1e-6))))


def next_chunk(source: Iterator[Task], size: int) -> Chunk:
    """Return the next tasks, so many, or fewer where they carry bytes."""
    held: list[Task] = []
    carried = 0
    while len(held) < size and carried < MESSAGE_BYTES:
        task = next(source, None)
        if task is None:
            break
        held.append(task)
        carried += len(task.image or b"") + len(task.record or b"")
    return tuple(held)
