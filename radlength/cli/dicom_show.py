"""``radlength dicom show``: the numbers of any structured report, and what another viewer would make of our marks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted
from radlength.cli.options import Debug, Json, Records
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.dicom import Elsewhere, ReadReport, Stated

EXAMPLE = "radlength dicom show tooth.dcm.radlength-sr.dcm --image tooth.dcm"


def show(
    report: Annotated[Path, typer.Argument(metavar="FILE", help="A structured report, of whatever program.")],
    image: Annotated[
        Path | None,
        typer.Option(help="Its marked image: also show what another viewer would measure, and why."),
    ] = None,
    restore: Annotated[
        bool, typer.Option("--restore", help="Write a record of the marks in our report beside --image.")
    ] = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """List the measurements of a structured report; of one of ours also marks, rules and who verified it."""
    if restore and image is None:
        raise typer.BadParameter("--restore needs --image")
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import (
            check_image,
            is_own,
            list_measurements,
            outdated,
            read_any,
            read_report,
            restore_record,
        )

        stated = list_measurements(report)
        own = read_report(report) if is_own(read_any(report)) else None
        if own is not None and image is not None:
            check_image(own, image)
        restored = restore_record(report, image, records_dir=records) if restore and image else None
        compared = _compared(image, records) if image is not None else ()
        older = outdated(own, compared) if own is not None else ()
        if as_json:
            print_json(_data(stated, own, compared, restored) | {"outdated": list(older)})
        else:
            _tell(stated, own, compared, restored)
            for words in older:
                console().print(words)
            print_caution(console())


def _compared(image: Path, records: Path | None) -> tuple[Elsewhere, ...]:
    from radlength.dicom import elsewhere, marked, read_source
    from radlength.imaging import read_radiograph
    from radlength.record import load_record

    what = marked(read_source(image), load_record(image, records_dir=records), read_radiograph(image))
    return elsewhere(what)


def _data(
    stated: tuple[Stated, ...], own: ReadReport | None, compared: tuple[Elsewhere, ...], restored: Path | None
) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "measurements": [asdict(one) for one in stated],
        "ours": own is not None,
        "verified_by": list(own.verified_by) if own else [],
        "elsewhere": [asdict(one) for one in compared],
        "record": str(restored) if restored else None,
    }


def _tell(
    stated: tuple[Stated, ...], own: ReadReport | None, compared: tuple[Elsewhere, ...], restored: Path | None
) -> None:
    from rich.table import Table

    out = console()
    table = Table("Of", "Where", "What", "Value", "Measured on", box=None)
    for one in stated:
        measured = f"{one.graphic} of {counted(one.points, 'point')}" if one.graphic else ""
        table.add_row(one.group, one.site, one.name, f"{one.value:.4g} {one.unit}", measured)
    out.print(table)
    if own is not None:
        who = ", ".join(own.verified_by)
        out.print(f"Written by radlength; {f'verified by {who}' if who else 'verified by nobody'}.")
    for other in compared:
        out.print(f"{other.canal}, elsewhere: {other.why}")
    if restored is not None:
        out.print(f"record written: {restored}", soft_wrap=True)
