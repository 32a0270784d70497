"""``radlength view``: open the window, found by its entry point."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, MutableMapping
from importlib.metadata import entry_points
from pathlib import Path
from typing import Annotated

import typer

from radlength.cli.options import Debug, Json, Records
from radlength.cli.talk import print_json, said_plainly
from radlength.errors import RadlengthError

EXAMPLE = "radlength view tooth.png"
GROUP = "radlength.window"


def view(
    image: Annotated[
        Path | None,
        typer.Argument(metavar="[IMAGE|FOLDER|CASE]", help="Image to open, a folder of images, or a case."),
    ] = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Open an image, or the images of a folder or a case in order of time, in the measuring window."""
    if "numpy" not in sys.modules:
        quicken(os.environ)
    with said_plainly(as_json=as_json, debug=debug):
        launch = _window()
        status = launch(image, records)
        if as_json:
            print_json({"closed": True, "status": status})


def quicken(environment: MutableMapping[str, str]) -> None:
    """Let small matrix products run on one core, before NumPy is loaded: a trace is ten times as quick that way.

    Parameters
    ----------
    environment
        Of the process; what a person has set there stays.

    Examples
    --------
    >>> environment = {}
    >>> quicken(environment)
    >>> environment
    {'OPENBLAS_NUM_THREADS': '1'}
    """
    environment.setdefault("OPENBLAS_NUM_THREADS", "1")


def _window() -> Callable[[Path | None, Path | None], int]:
    missing = RadlengthError(
        "no window is installed",
        remedy='install it: pip install "radlength[napari]"',
        code="window-missing",
    )
    found = sorted(entry_points(group=GROUP), key=lambda point: point.name)
    if not found:
        raise missing
    try:
        launch: Callable[[Path | None, Path | None], int] = found[0].load()
    except ImportError as exc:
        raise missing from exc
    return launch
