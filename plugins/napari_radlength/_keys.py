"""Every key in one table: what it does, and the name of the action in the dock. Pure: no Qt, no napari.

The table holds the keys as they come; :func:`key_of` and :func:`help_text` tell them as they are bound now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_SAID = {"Escape": "Esc", "Delete": "Del"}


@dataclass(frozen=True, slots=True)
class Key:
    """A key of the dock.

    Parameters
    ----------
    key
        The key as it comes.
    action
        The dock's method it calls.
    words
        What that does.
    held
        Whether it goes on while the key is held.
    fixed
        Whether the key stays whatever napari's preferences say, because they take no such key; one more may be chosen.
    also
        A second key as it comes, which other programs have for the same; empty for none.
    """

    key: str
    action: str
    words: str
    held: bool = False
    fixed: bool = False
    also: str = ""


KEYS: tuple[Key, ...] = (
    Key("Enter", "go_on", "accept what is proposed and go on to the next step"),
    Key("Escape", "drop", "drop what is proposed; again: look only, no marking"),
    Key("Backspace", "take_back", "take the last click back"),
    Key("Delete", "delete_point", "delete the chosen point"),
    Key("Ctrl+Z", "undo", "take the last step back"),
    Key("Ctrl+Shift+Z", "redo", "do it again", also="Ctrl+Y"),
    Key("Ctrl+S", "save", "save the record"),
    Key("Ctrl+Enter", "hand_in", "hand in the exercise; it is asked about first"),
    Key("R", "mark_reference", "mark the reference"),
    Key("C", "mark_canal", "mark the canal"),
    Key("N", "next_canal", "next canal: an empty one, or a new one"),
    Key("Shift+N", "other_canal", "the canal marked after this one; after the last, the first"),
    Key("T", "trace", "trace again through the clicks"),
    Key("A", "toggle_assist", "tracing by the program on or off"),
    Key("P", "place_point", "place the next point without the mouse; the arrows move it"),
    Key(".", "next_point", "choose the next point"),
    Key(",", "previous_point", "choose the point before"),
    Key("Up", "nudge_up", "move the chosen point up by 0.1 pixel", held=True),
    Key("Down", "nudge_down", "move it down by 0.1 pixel", held=True),
    Key("Left", "nudge_left", "move it left by 0.1 pixel", held=True),
    Key("Right", "nudge_right", "move it right by 0.1 pixel", held=True),
    Key("Shift+Up", "push_up", "move the chosen point up by 1 pixel", held=True),
    Key("Shift+Down", "push_down", "move it down by 1 pixel", held=True),
    Key("Shift+Left", "push_left", "move it left by 1 pixel", held=True),
    Key("Shift+Right", "push_right", "move it right by 1 pixel", held=True),
    Key("Ctrl+Up", "stride_up", "move the chosen point up by 10 pixels", held=True),
    Key("Ctrl+Down", "stride_down", "move it down by 10 pixels", held=True),
    Key("Ctrl+Left", "stride_left", "move it left by 10 pixels", held=True),
    Key("Ctrl+Right", "stride_right", "move it right by 10 pixels", held=True),
    Key("M", "toggle_inset", "magnifier on or off"),
    Key("V", "next_preset", "next way to show the grey values"),
    Key("I", "toggle_invert", "dark for bright"),
    Key("H", "toggle_marks", "hide or show all marks"),
    Key("PageDown", "next_image", "next image", fixed=True),
    Key("PageUp", "previous_image", "image before", fixed=True),
    Key("B", "toggle_beside", "the image before at the side, moving with this one"),
    Key("F1", "show_keys", "this table", fixed=True),
)
TYPED = Key("?", "show_keys", "this table", fixed=True)
"""It stands on another key of every keyboard, so it is known by what it types."""

_bound: dict[str, tuple[str, ...]] = {}


def set_bound(action: str, keys: Sequence[str]) -> None:
    """Tell which keys call an action now."""
    _bound[action] = tuple(keys)


def keys_of(entry: Key) -> tuple[str, ...]:
    """Return the keys that call the action of an entry now; its own as long as nobody changed it."""
    own = (entry.key, entry.also) if entry.also else (entry.key,)
    return own + _bound.get(entry.action, ()) if entry.fixed else _bound.get(entry.action, own)


def key_of(action: str) -> str:
    """Return the key that calls an action now, as one says it; ``"no key"`` where there is none.

    Examples
    --------
    >>> key_of("drop"), key_of("save")
    ('Esc', 'Ctrl+S')
    """
    entry = next(one for one in KEYS if one.action == action)
    return next((_SAID.get(key, key) for key in keys_of(entry)), "no key")


def help_text() -> str:
    """Return the table as lines, with the keys as they are bound now.

    Examples
    --------
    >>> help_text().splitlines()[0]
    'Enter: accept what is proposed and go on to the next step'
    """
    lines = [f"{' or '.join(keys_of(one)) or 'no key'}: {one.words}" for one in KEYS]
    return "\n".join([*lines, f"{TYPED.key}: {TYPED.words}"])
