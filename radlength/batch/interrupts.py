"""Ctrl-C while processes work: they start deaf to it, so that one process answers, and in words of its own."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def starting_deaf() -> Iterator[None]:
    """Let processes that are started in the block never hear an interrupt from the keyboard.

    A terminal sends it to all of them. One that hears it while it loads prints where it stood; what they work on is
    for the process that started them to end. An interrupt that comes to this thread in the block is heard after it. On
    Windows, where no signal can be held back, nothing is done.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # where it is started in the block, it lets the interrupt through afterwards
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
