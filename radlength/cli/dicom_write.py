"""``radlength dicom write``: report, presentation, picture and calibrated copy of a marked DICOM image."""

from __future__ import annotations

from datetime import datetime
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
    decided: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CANAL=MM", help="A working length that a person decided: '46 MB=20.5'. Repeatable."
        ),
    ] = None,
    person: Annotated[str | None, typer.Option(help="Who decided.")] = None,
    time: Annotated[str | None, typer.Option(help="When, with its zone: 2026-01-02T12:00:00+01:00.")] = None,
    organization: Annotated[str, typer.Option(help="Where that person works.")] = "",
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the documents.")] = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Write a report (SR) and a presentation state (PR) beside the record; the image is never changed.

    The report is VERIFIED only where a person decided every canal in it. The same content keeps its UIDs; changed
    content is a new document that names the one before it.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import write_documents

        kinds = ["sr", "pr", *(["sc"] if picture else []), *(["derived"] if calibrated else [])]
        written = write_documents(
            image,
            kinds,
            decisions=_decisions(decided or [], person, time, organization),
            reference=reference,
            records_dir=records,
            out=out,
        )
        _say(written, as_json=as_json)


def _decisions(decided: list[str], person: str | None, time: str | None, organization: str) -> list[Decision]:
    if not decided:
        if person is not None or time is not None:
            raise typer.BadParameter("--person and --time belong to --decided")
        return []
    if person is None or time is None:
        raise typer.BadParameter("--decided needs --person and --time")
    from radlength.dicom import Decision, DicomError

    try:
        when = datetime.fromisoformat(time)
    except ValueError as exc:
        raise DicomError(
            f"{time!r} is not a time", "2026-01-02T12:00:00+01:00", code="decision-time"
        ) from exc
    made = []
    for text in decided:
        canal, _, value = text.rpartition("=")
        try:
            made.append(Decision(canal.strip(), float(value), person, when, organization))
        except ValueError as exc:
            raise DicomError(
                f"{text!r} is no canal with a length",
                "CANAL=MM, such as '46 MB=20.5'",
                code="decision-length",
            ) from exc
    return made


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
