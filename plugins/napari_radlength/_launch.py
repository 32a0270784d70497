"""The window of ``radlength view``."""

from __future__ import annotations

import os
import signal
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from napari import Viewer

    from napari_radlength._dock import LengthDock

if find_spec("napari") is None or find_spec("qtpy") is None:
    raise ImportError("napari")


def launch(path: Path | None, records_dir: Path | None = None) -> int:
    """Open napari with the dock, and what is given; return when it is closed.

    Parameters
    ----------
    path
        An image, a folder whose images are shown in order of time, a case, or a set of exercises by its folder or
        file.
    records_dir
        Folder of the records, for images on read-only media.

    Raises
    ------
    RadlengthError
        The image, its record or the case cannot be used, there is no image, or no screen.
    """
    from napari_radlength._case_book import opened
    from napari_radlength._exercise_file import is_set
    from napari_radlength._screen import refuse_without_screen
    from radlength.errors import ImageError
    from radlength.record.case import CASE_NAME
    from radlength.session import Session

    exercises = path is not None and is_set(path)
    several = path is not None and (path.is_dir() or path.name == CASE_NAME) and not exercises
    shots = opened([path])[1] if path is not None and several else ()
    if path is not None and several and not shots:
        raise ImageError(
            "no image in this folder",
            "PNG, JPEG, TIFF or DICOM files",
            code="folder-empty",
            subject=path.name,
        )
    first = shots[0].path if shots else None if exercises else path
    refuse_without_screen(os.environ, sys.platform)
    session = Session.open(first, records_dir=records_dir, show_other=True) if first is not None else None
    import napari

    from napari_radlength._dock import open_dock

    viewer = napari.Viewer(title="radlength" if path is None else f"radlength: {path.name}")
    dock = open_dock(viewer)
    dock.ask_on_close = True
    dock.records_dir = records_dir
    dock.give_room()
    if session is not None:
        dock.show_session(session)
        dock.add_images([path] if path is not None else [])
    if exercises and path is not None:
        dock.exercise.open_set(path)
    _run_until_closed(viewer, dock)
    return 0


def _run_until_closed(viewer: Viewer, dock: LengthDock) -> None:
    """Run the window until it is closed. Ctrl-C closes it without a question: unsaved marks lie in a file of their own.

    The interrupt is kept until Qt has left its loop: raised inside, it ends in the middle of a drawing.

    Raises
    ------
    KeyboardInterrupt
        Afterwards, where that is how it was closed.
    """
    import napari
    from qtpy.QtWidgets import QApplication

    interrupts: list[int] = []

    def leave(number: int, _: object) -> None:
        interrupts.append(number)
        QApplication.quit()

    before = signal.signal(signal.SIGINT, leave)
    try:
        napari.run()
    finally:
        signal.signal(signal.SIGINT, before)
    if interrupts:
        dock.ask_on_close = False
        viewer.close()
        raise KeyboardInterrupt
