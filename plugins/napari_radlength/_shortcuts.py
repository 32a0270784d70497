"""Our keys among the shortcuts of napari's preferences.

napari (0.8 and 0.9) reads commands and menus from a manifest and leaves its key bindings out:
``_npe2_manifest_to_actions`` of ``napari.plugins._npe2`` makes every action with ``keybindings=[]``. What its
preferences show and change is the action manager. So every key of ours is an action there, under a provider of its
own that nothing in napari listens to; docks bind what the provider holds on their viewer and their layers, and only
while they are open. Enter and Tab cannot be chosen in that editor, which uses them itself; page and function keys it
takes for no keys (they are fixed in our table); and it refuses a key that another action of napari has.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from napari.settings import get_settings
from napari.utils.action_manager import action_manager
from napari.utils.key_bindings import KeyBinding, KeymapProvider, coerce_keybinding
from napari.utils.shortcuts import default_shortcuts

from napari_radlength._keys import KEYS, Key, keys_of, set_bound

PREFIX = "radlength:"
_GROUP = "Working length: "


class LengthKeys(KeymapProvider):  # type: ignore[misc]
    """Holds the keys as they are bound now; no key event ever reaches it."""


@cache
def register() -> None:
    """Make every key an action of napari, with the user's key where napari's settings hold one; once a process."""
    for entry in KEYS:
        name = PREFIX + entry.action
        default_shortcuts[name] = _default(entry)
        action_manager.register_action(name, _command(entry), _GROUP + entry.words, LengthKeys, entry.held)
    with action_manager.events.shortcut_changed.blocker():  # nobody tells a key of ours yet
        follow_settings()
    get_settings().shortcuts.events.shortcuts.connect(follow_settings)


def follow_settings(_event: object = None) -> None:
    """Bind what napari's settings say, and the key as it comes where they say nothing."""
    stored = get_settings().shortcuts.shortcuts
    for entry in KEYS:
        name = PREFIX + entry.action
        wanted = [coerce_keybinding(key) for key in stored.get(name, _default(entry))]
        if set(wanted) != set(_chosen(entry)):
            action_manager.unbind_shortcut(name)
            for key in wanted:
                action_manager.bind_shortcut(name, key)


def _default(entry: Key) -> list[KeyBinding]:
    """Return the keys that come with an action, besides one that is fixed."""
    return [] if entry.fixed else [coerce_keybinding(key) for key in (entry.key, entry.also) if key]


def tell() -> None:
    """Tell the table of keys which are bound now."""
    for entry in KEYS:
        set_bound(entry.action, [str(key) for key in _chosen(entry)])


def bindings(entry: Key) -> list[KeyBinding]:
    """Return the keys that call an action now, as napari writes them."""
    return [coerce_keybinding(key) for key in keys_of(entry)]


def _chosen(entry: Key) -> list[KeyBinding]:
    name = _name(entry)
    return [key for key, call in LengthKeys.class_keymap.items() if call.__name__ == name]


def is_ours(name: Any) -> bool:
    """Return whether a change of shortcuts is about one of ours."""
    return str(name).startswith(PREFIX)


def call_of(entry: Key, do: Callable[[], object]) -> Callable[[Any], None]:
    """Return what a viewer or a layer calls for a key; napari knows by its name whether it goes on while held."""

    def call(_where: Any) -> None:
        do()

    call.__name__ = _name(entry)
    return call


def _command(entry: Key) -> Callable[[], None]:
    def command() -> None:
        """Nothing: the open docks bind themselves."""

    command.__name__ = _name(entry)
    return command


def _name(entry: Key) -> str:
    return f"radlength_{entry.action}"
