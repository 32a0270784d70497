"""Options that several commands share, so that they have one name and one help."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

RECORD = ".radlength.json"
"""How the name of a record ends, without loading what reads records."""


def no_record(path: Path) -> Path:
    """Refuse a record where its image is meant.

    Raises
    ------
    typer.BadParameter
        It is one, by its name.
    """
    if path.name.endswith(RECORD):
        image = path.name.removesuffix(RECORD) or "the file it lies beside"
        raise typer.BadParameter(
            f"{path.name} is a record; give its image, {image}; the record is found beside it"
        )
    return path


ImageArgument = Annotated[
    Path,
    typer.Argument(
        metavar="IMAGE", help="PNG, JPEG, TIFF or DICOM file.", readable=False, callback=no_record
    ),
]
"""The reader of images refuses what may not be read, as it refuses what is missing."""
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of text.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of an error.")]
Records = Annotated[
    Path | None,
    typer.Option(
        "--records",
        metavar="DIR",
        help="Folder of the records, for images on read-only media.",
        exists=True,
        file_okay=False,
    ),
]
Who = Annotated[str | None, typer.Option("--who", help="Who marks, as the history keeps it. Optional.")]
Strict = Annotated[bool, typer.Option("--strict", help="Exit with 3 where a finding is serious.")]
Canals = Annotated[str | None, typer.Option("--canal", help="Only this canal: its name or 'tooth name'.")]
Universal = Annotated[
    bool,
    typer.Option("--universal", help="Show Universal tooth numbers too, in the headings of PDF and HTML."),
]


class Rounding(StrEnum):
    """Ways to round a length for the stop."""

    nearest = "nearest"
    down = "down"


class Placement(StrEnum):
    """Where a reference lies."""

    in_canal = "in_canal"
    beside = "beside"
