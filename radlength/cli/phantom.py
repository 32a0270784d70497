"""``radlength phantom``: make a simulated radiograph whose true lengths are known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from radlength.cli.options import Debug, Json
from radlength.cli.talk import console, print_caution, print_json, said_plainly, waiting

EXAMPLE = "radlength phantom --seed 7 --kind lower_molar --out simulated"


def phantom(
    seed: Annotated[int, typer.Option(help="The same seed makes the same image.")],
    out: Annotated[Path, typer.Option(help="Folder for image, truth and marks.")],
    kind: Annotated[
        str, typer.Option(help="single, lower_molar, upper_molar, s_bend or wide_apex.")
    ] = "single",
    file_format: Annotated[str, typer.Option("--format", help="png, tiff, jpeg or dicom.")] = "png",
    shift_deg: Annotated[float | None, typer.Option(help="Also a second view, tube swung by this.")] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Simulate a periapical radiograph: image, truth and marks, all invented."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.phantom.write import write_phantom

        with waiting("computing the image"):
            written = write_phantom(out, seed, kind=kind, file_format=file_format, shift_deg=shift_deg)
        if as_json:
            print_json({"invented": True, "written": [str(path) for path in written]})
            return
        text = console()
        for path in written:
            text.print(f"written: {path}", soft_wrap=True)
        text.print("Invented: no person is shown. The truth is in the .truth.json file.")
        print_caution(text)
