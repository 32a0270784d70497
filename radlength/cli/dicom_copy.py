"""``radlength dicom deidentify``: copies of images and marks without identifying facts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from radlength.cli.options import Debug, Json, Records
from radlength.cli.talk import console, print_caution, print_json, said_plainly

EXAMPLE = "radlength dicom deidentify tooth.dcm --out to-give"


def deidentify(
    images: Annotated[list[Path], typer.Argument(metavar="IMAGE", help="DICOM images.")],
    out: Annotated[Path, typer.Option(metavar="DIR", help="A new or empty folder.")],
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Copy images, and their marks, keeping only what is on a list; pixels are not looked at.

    Text that is burned into a picture stays in it. An image that says so is refused.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import deidentify as copied

        made = copied(images, out, records_dir=records)
        if as_json:
            print_json(
                {
                    "images": [str(path) for path in made.images],
                    "records": [str(path) for path in made.records],
                    "reminder": made.reminder,
                }
            )
            return
        told = console()
        for path in (*made.images, *made.records):
            told.print(f"written: {path}", soft_wrap=True)
        told.print(made.reminder)
        print_caution(told)
