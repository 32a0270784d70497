"""A bar that shows how far long work is: on a terminal only, and never in what a program reads."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager


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
