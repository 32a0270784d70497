"""``radlength dicom write``: report, presentation, picture and calibrated copy of a marked DICOM image."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.dicom import Decision, Written

EXAMPLE = "radlength dicom write tooth.dcm"

_NAMES = {"sr": "report", "pr": "presentation", "sc": "picture", "derived": "calibrated copy"}


def write(
    image: ImageArgument,
    picture: Annotated[
        bool, typer.Option("--picture", help="Also a picture with the marks burned in (Secondary Capture).")
    ] = False,
    calibrated: Annotated[
        bool, typer.Option("--calibrated", help="Also a copy of the image with a calibrated Pixel Spacing.")
    ] = False,
    reference: Annotated[
        str | None, typer.Option(help="Reference of the calibrated copy, where there are several.")
    ] = None,
    case: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="The case with the image: who decided verifies the report."),
    ] = None,
    organization: Annotated[str, typer.Option(help="Where that person works.")] = "",
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the documents.")] = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Write a report (SR) and a presentation state (PR) beside the record; the image is never changed.

    The report is VERIFIED only where a person decided every canal in it (radlength case decide). The same content
    keeps its UIDs; changed content is a new document that names the one before it.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import write_documents

        kinds = ["sr", "pr", *(["sc"] if picture else []), *(["derived"] if calibrated else [])]
        written = write_documents(
            image,
            kinds,
            decisions=_decisions(image, case, organization),
            reference=reference,
            records_dir=records,
            out=out,
        )
        _say(written, as_json=as_json)


def _decisions(image: Path, case: Path | None, organization: str) -> list[Decision]:
    if case is None:
        return []
    from radlength.dicom import decided_in
    from radlength.record import load_case

    return decided_in(load_case(case), image, organization=organization)


def _say(written: tuple[Written, ...], *, as_json: bool) -> None:
    if as_json:
        told: list[dict[str, Any]] = [
            {
                "kind": one.document.kind,
                "file": str(one.path),
                "sop_instance": one.document.sop_instance,
                "number": one.document.number,
            }
            for one in written
        ]
        print_json({"documents": told})
        return
    out = console()
    for one in written:
        out.print(f"{_NAMES[one.document.kind]} written: {one.path}", soft_wrap=True)
    print_caution(out)
