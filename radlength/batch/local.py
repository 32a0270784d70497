"""Tasks on processes of this machine. A process that dies takes its task with it once, not the batch."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.process import BaseProcess

from radlength.batch.interrupts import starting_deaf
from radlength.batch.task import Outcome, Task, failed
from radlength.batch.work import work

AHEAD = 2
"""Chunks a process that wait for it: memory stays bounded, no process idles."""

CHUNK = 4
"""Tasks sent at once."""

DIED = "the process that worked on it died twice (out of memory, or killed); look at this image alone"

Chunk = tuple[Task, ...]


def work_all(tasks: Chunk) -> tuple[Outcome, ...]:
    """Do several tasks one after another."""
    return tuple(work(task) for task in tasks)


def chunks(tasks: Iterable[Task], size: int = CHUNK) -> Iterator[Chunk]:
    """Return tasks in chunks of a size, the last one shorter."""
    held: list[Task] = []
    for task in tasks:
        held.append(task)
        if len(held) == size:
            yield tuple(held)
            held = []
    if held:
        yield tuple(held)


def on_processes(tasks: Iterable[Task], workers: int) -> Iterator[Outcome]:
    """Do tasks on a number of processes; outcomes come as they are done, in any order.

    Parameters
    ----------
    tasks
        Taken as processes get free.
    workers
        Number of processes, 1 or more.
    """
    waiting, alone = deque(), deque()  # type: deque[Chunk], deque[Task]
    source = chunks(tasks)
    pool = _pool(workers)
    running: dict[Future[tuple[Outcome, ...]], Chunk] = {}
    try:
        while True:
            _fill(pool, running, waiting, source, AHEAD * workers)
            if not running:
                break
            broken = False
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                chunk = running.pop(future)
                try:
                    yield from future.result()
                except BrokenProcessPool:
                    broken = True
                    alone.extend(chunk)
            if broken:
                for chunk in running.values():
                    alone.extend(chunk)
                running = {}
                pool.shutdown(wait=False, cancel_futures=True)
                pool = _pool(workers)
                yield from _each_alone(alone)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), initializer=end_with_parent
    )


def end_with_parent() -> None:
    """Let this process end when the one that started it does: after a kill it would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_after, args=(parent,), daemon=True).start()


def _end_after(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


def _fill(
    pool: ProcessPoolExecutor,
    running: dict[Future[tuple[Outcome, ...]], Chunk],
    waiting: deque[Chunk],
    source: Iterator[Chunk],
    most: int,
) -> None:
    while len(running) < most:
        chunk = waiting.popleft() if waiting else next(source, None)
        if chunk is None:
            return
        try:
            with starting_deaf():
                running[pool.submit(work_all, chunk)] = chunk
        except BrokenProcessPool:
            waiting.appendleft(chunk)
            return


def _each_alone(tasks: deque[Task]) -> Iterator[Outcome]:
    """Do the tasks a death left over, one at a time: who dies again is named, the others are done."""
    pool = _pool(1)
    try:
        while tasks:
            task = tasks.popleft()
            try:
                with starting_deaf():
                    done = pool.submit(work, task)
                yield done.result()
            except BrokenProcessPool:
                pool.shutdown(wait=False)
                pool = _pool(1)
                yield failed(task.place, "", "worker-died", f"{task.place}: {DIED}")
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
