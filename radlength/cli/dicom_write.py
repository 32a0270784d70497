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
NO_PRESENTATION = "no presentation: the image is stored in colour, and a presentation state is of a grey one"


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
        from radlength.dicom import read_source, write_documents
        from radlength.imaging.dicom_colour import is_colour

        colour = is_colour(read_source(image).header)
        kinds = [
            "sr",
            *([] if colour else ["pr"]),
            *(["sc"] if picture else []),
            *(["derived"] if calibrated else []),
        ]
        decisions = _decisions(image, case, organization, records)
        written = write_documents(
            image,
            kinds,
            decisions=decisions,
            reference=reference,
            records_dir=records,
            out=out,
        )
        why = _unverified(image, decisions, records) if case is not None else ()
        _say(written, why if case is not None else None, colour=colour, as_json=as_json)


def _decisions(image: Path, case: Path | None, organization: str, records: Path | None) -> list[Decision]:
    if case is None:
        return []
    from radlength.dicom import decided_in
    from radlength.record import load_case

    return decided_in(load_case(case), image, organization=organization, records_dir=records)


def _unverified(image: Path, decisions: list[Decision], records: Path | None) -> tuple[str, ...]:
    from radlength.dicom import unverified
    from radlength.record import load_record

    labels = [entry.canal.label for entry in load_record(image, records_dir=records).canals]
    return unverified(decisions, labels)


def _say(written: tuple[Written, ...], why: tuple[str, ...] | None, *, colour: bool, as_json: bool) -> None:
    """Print what was written, and where a case was named, whether its decisions verify the report."""
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
        verified = {} if why is None else {"verified": not why, "not_verified_because": list(why)}
        left_out = {"not_written": {"pr": NO_PRESENTATION}} if colour else {}
        print_json({"documents": told, **left_out, **verified})
        return
    out = console()
    for one in written:
        out.print(f"{_NAMES[one.document.kind]} written: {one.path}", soft_wrap=True)
    if colour:
        out.print(NO_PRESENTATION)
    if why is not None:
        out.print(f"not verified: {'; '.join(why)}" if why else "verified by who decided")
    print_caution(out)
