"""``radlength phantom``: make a simulated radiograph whose true lengths are known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from radlength.cli.options import Debug, Json
from radlength.cli.outputs import refuse_file_name
from radlength.cli.phantom_files import made_apart, moved
from radlength.cli.talk import console, print_caution, print_json, said_plainly, waiting

EXAMPLE = "radlength phantom --seed 7 --kind lower_molar --out simulated"


def phantom(
    seed: Annotated[int, typer.Option(help="The same seed makes the same image.")],
    out: Annotated[Path, typer.Option(help="Folder for image, truth and marks.")],
    kind: Annotated[
        str, typer.Option(help="single, lower_molar, upper_molar, s_bend or wide_apex.")
    ] = "single",
    file_format: Annotated[str, typer.Option("--format", help="png, tiff, jpeg or dicom.")] = "png",
    bits: Annotated[int, typer.Option(help="Bits a pixel: 8, 12 or 16.")] = 8,
    gamma: Annotated[
        float, typer.Option(help="Exponent of the tone curve; 1 is linear in radiopacity.")
    ] = 1.0,
    sharpen: Annotated[float, typer.Option(help="Strength of an unsharp mask, 0 to 5.")] = 0.0,
    inverted: Annotated[
        bool, typer.Option("--inverted", help="Store bone dark (MONOCHROME1 in DICOM).")
    ] = False,
    shown: Annotated[
        str, typer.Option(help="References beside the tooth: wire,ball,rod,marker with commas, or none.")
    ] = "wire,ball",
    instruments: Annotated[int, typer.Option(help="In how many canals an instrument lies.")] = 1,
    gap_mm: Annotated[
        float | None, typer.Option(help="From tip to apex along the canal, mm; at random by default.")
    ] = None,
    bend_deg: Annotated[
        float | None, typer.Option(help="Apical bend, degrees; at random by default.")
    ] = None,
    azimuth_deg: Annotated[
        float | None, typer.Option(help="Its direction, degrees: 0 across the image, 90 along the beam.")
    ] = None,
    shift_deg: Annotated[
        float | None, typer.Option(help="Also a second view, the tube swung by so many degrees, also minus.")
    ] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Simulate a periapical radiograph: image, truth and marks, all invented."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.phantom.detector import Detector
        from radlength.phantom.write import write_phantom

        refuse_file_name(out, "image, truth and marks")
        drawn = {"gap_mm": gap_mm, "bend_deg": bend_deg, "azimuth_deg": azimuth_deg}
        given: dict[str, Any] = {name: value for name, value in drawn.items() if value is not None}
        with waiting("computing the image"), made_apart(out) as apart:
            written = write_phantom(
                apart,
                seed,
                kind=kind,
                file_format=file_format,
                detector=Detector(bits=bits, gamma=gamma, sharpen=sharpen, inverted=inverted),
                shift_deg=shift_deg,
                shown=_names(shown),
                instruments=instruments,
                **given,
            )
            written = moved(written, out)
        if as_json:
            print_json({"invented": True, "written": [str(path) for path in written]})
            return
        text = console()
        for path in written:
            text.print(f"written: {path}", soft_wrap=True)
        text.print("Invented: no person is shown. The truth is in the .truth.json file.")
        print_caution(text)


def _names(shown: str) -> tuple[str, ...]:
    names = tuple(name.strip() for name in shown.split(",") if name.strip())
    return () if names == ("none",) else names
