"""Errors of the core as sentences in the window."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from napari_radlength._message import show_whole
from radlength.errors import RadlengthError


@contextmanager
def told() -> Iterator[None]:
    """Show a refusal as a sentence, never as a traceback."""
    try:
        yield
    except RadlengthError as exc:
        from napari.utils.notifications import show_error

        show_error(str(exc))
        show_whole()
