"""Small edits of one thing one after another, such as a point moved by a key that is held: one undo step together."""

from __future__ import annotations

from collections.abc import Hashable
from time import monotonic

RUN_S = 1.0
"""Seconds after which the next small edit is a step of its own (common practice, no source)."""


class Runs:
    """Knows what the last edit was of, and when it was made."""

    def __init__(self) -> None:
        self._of: Hashable | None = None
        self._at = 0.0

    def joins(self, run: Hashable | None) -> bool:
        """Return whether an edit made now belongs to the step before, and remember it.

        Parameters
        ----------
        run
            What the edit is of; ``None`` for one that is always a step of its own.
        """
        now = monotonic()
        joined = run is not None and run == self._of and now - self._at < RUN_S
        self._of, self._at = run, now
        return joined

    def end(self) -> None:
        """Let the next edit be a step of its own."""
        self._of = None
