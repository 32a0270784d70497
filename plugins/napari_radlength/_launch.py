"""The window of ``radlength view``."""

from __future__ import annotations

from pathlib import Path


def launch(path: Path | None, records_dir: Path | None = None) -> int:
    """Open napari with the dock, and an image where one is given; return when the window closes.

    Raises
    ------
    RadlengthError
        The image or its record cannot be used.
    """
    from radlength.session import Session

    session = Session.open(path, records_dir=records_dir) if path is not None else None
    import napari

    from napari_radlength._dock import open_dock

    viewer = napari.Viewer(title="radlength" if path is None else f"radlength: {path.name}")
    dock = open_dock(viewer)
    dock.ask_on_close = True
    dock.give_room()
    if session is not None:
        dock.show_session(session)
    napari.run()
    return 0
