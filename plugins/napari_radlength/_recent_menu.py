"""A button with the images opened last, a way to clear the list, and a switch that keeps none."""

from __future__ import annotations

from typing import Any

from qtpy.QtWidgets import QMenu, QPushButton

from napari_radlength._recent import clear, read_recent, remember, set_remember
from napari_radlength._widgets import button
from radlength.imaging import Radiograph

PRIVACY = "The list holds paths, and paths can hold names. It lies in a file of this user, in no record, report or log."
TIP = f"images opened last. {PRIVACY}"


def recent_button(dock: Any) -> QPushButton:
    """Return the button; its menu is made anew whenever it opens, so that it tells what is there now."""
    made = button("Recent", "radlength_recent", lambda: None, tip=TIP)
    made.setAccessibleName("images opened last")
    menu = QMenu(made)
    menu.setObjectName("radlength_recent_menu")
    menu.setToolTipsVisible(True)
    menu.aboutToShow.connect(lambda: fill(menu, dock))
    made.setMenu(menu)
    made.setMinimumWidth(made.minimumWidth() + 12)
    return made


def keep_in_mind(radiograph: Radiograph) -> None:
    """Put an image that was opened from a file into the list."""
    if radiograph.path is not None:
        remember(radiograph.path)


def fill(menu: QMenu, dock: Any) -> None:
    """Write the list into the menu: files that are gone are there to see and cannot be chosen."""
    menu.clear()
    recent = read_recent()
    for path in recent.images:
        there = path.is_file()
        words = f"{path.name}  ({path.parent.name})".replace("&", "&&")
        entry = _entry(menu, words if there else f"{words}  not there", str(path))
        entry.setEnabled(there)
        entry.triggered.connect(lambda _checked=False, path=path: dock.open_images([path]))
    if not recent.images:
        none = "No image was opened yet" if recent.remember else "No image is remembered"
        _entry(menu, none, PRIVACY).setEnabled(False)
    menu.addSeparator()
    forget = _entry(menu, "Clear the list", "forget these images; the images themselves stay")
    forget.setEnabled(bool(recent.images))
    forget.triggered.connect(lambda _checked=False: clear())
    switch = _entry(
        menu, "Remember opened images", f"{PRIVACY} Switched off, the list is cleared and stays empty."
    )
    switch.setCheckable(True)
    switch.setChecked(recent.remember)
    switch.triggered.connect(set_remember)


def _entry(menu: QMenu, words: str, tip: str) -> Any:
    made = menu.addAction(words)
    made.setToolTip(tip)
    return made
