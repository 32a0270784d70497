"""Every key in one table: what it does, and the name of the action in the dock."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """A key as Qt writes it, the dock's method it calls, and what it does in words."""

    key: str
    action: str
    words: str


KEYS: tuple[Key, ...] = (
    Key("Return", "go_on", "accept what is proposed and go on to the next step"),
    Key("Escape", "drop", "drop what is proposed; again: look only, no marking"),
    Key("Backspace", "take_back", "take the last click back"),
    Key("Delete", "delete_point", "delete the chosen point"),
    Key("Ctrl+Z", "undo", "take the last step back"),
    Key("Ctrl+Shift+Z", "redo", "do it again"),
    Key("Ctrl+S", "save", "save the record"),
    Key("R", "mark_reference", "mark the reference"),
    Key("C", "mark_canal", "mark the canal"),
    Key("N", "next_canal", "next canal: an empty one, or a new one"),
    Key("T", "trace", "trace again through the clicks"),
    Key("A", "toggle_assist", "tracing by the program on or off"),
    Key(".", "next_point", "choose the next point"),
    Key(",", "previous_point", "choose the point before"),
    Key("Up", "nudge_up", "move the chosen point up by 0.1 pixel, with Shift by 1"),
    Key("Down", "nudge_down", "move it down"),
    Key("Left", "nudge_left", "move it left"),
    Key("Right", "nudge_right", "move it right"),
    Key("Shift+Up", "push_up", "move the chosen point up by 1 pixel"),
    Key("Shift+Down", "push_down", "move it down by 1"),
    Key("Shift+Left", "push_left", "move it left by 1"),
    Key("Shift+Right", "push_right", "move it right by 1"),
    Key("M", "toggle_inset", "magnifier on or off"),
    Key("V", "next_preset", "next way to show the grey values"),
    Key("I", "toggle_invert", "dark for bright"),
    Key("H", "toggle_marks", "hide or show all marks"),
    Key("PgDown", "next_image", "next image"),
    Key("PgUp", "previous_image", "image before"),
    Key("B", "toggle_beside", "the image before at the side, moving with this one"),
    Key("F1", "show_keys", "this table"),
    Key("?", "show_keys", "this table"),
)


def help_text() -> str:
    """Return the table as lines.

    Examples
    --------
    >>> help_text().splitlines()[0]
    'Return: accept what is proposed and go on to the next step'
    """
    return "\n".join(f"{entry.key}: {entry.words}" for entry in KEYS)
