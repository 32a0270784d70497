"""Every key in one table: what it does, and the name of the action in the dock."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """A key, the dock's method it calls, and what it does in words."""

    key: str
    action: str
    words: str


KEYS: tuple[Key, ...] = (
    Key("Control-Z", "undo", "take the last step back"),
    Key("Control-Shift-Z", "redo", "do it again"),
    Key("Backspace", "take_back", "remove the last click"),
    Key("Control-S", "save", "save the record"),
    Key("Shift-R", "mark_reference", "mark the reference"),
    Key("Shift-C", "mark_canal", "mark the canal"),
)


def help_text() -> str:
    """Return the table as lines for a tooltip."""
    return "\n".join(f"{entry.key}: {entry.words}" for entry in KEYS)
