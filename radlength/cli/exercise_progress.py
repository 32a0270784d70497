"""Long work on several processes: a bar on a terminal, never in what a program reads; Ctrl-C ends it at once."""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import NoReturn


@contextmanager
def counting(words: str, total: int) -> Iterator[Callable[[], None]]:
    """Show a bar while something is done `total` times.

    Yields
    ------
    callable
        To be called after each.
    """
    from rich.console import Console
    from rich.progress import Progress

    told = Console(stderr=True, markup=False)
    if not told.is_terminal:
        yield lambda: None
        return
    with Progress(console=told, transient=True) as bar:
        task = bar.add_task(words, total=total)
        yield lambda: bar.advance(task)


@contextmanager
def ending_at_once() -> Iterator[Callable[[], None]]:
    """Let Ctrl-C end the processes that the block starts, without a word of theirs and without waiting for their work.

    Only for processes that write nothing: they are stopped in the middle.

    Yields
    ------
    callable
        To be called when all of them run: until then Ctrl-C waits, so that they start deaf to it.
    """
    from radlength.batch.interrupts import starting_deaf

    before, said = signal.getsignal(signal.SIGINT), threading.excepthook
    if before is not signal.default_int_handler:  # somebody else answers, or nobody may interrupt
        yield lambda: None
        return
    with ExitStack() as deaf:
        signal.signal(signal.SIGINT, _end_children)
        deaf.enter_context(starting_deaf())
        try:
            yield deaf.close
        finally:
            signal.signal(signal.SIGINT, before)
            threading.excepthook = said


def _end_children(_number: int, _frame: object) -> NoReturn:
    """End them; what the thread that led them says of it is kept from the terminal."""
    threading.excepthook = lambda _: None
    for child in multiprocessing.active_children():
        child.terminate()
    raise KeyboardInterrupt
