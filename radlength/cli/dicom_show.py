"""``radlength dicom show``: the numbers of any structured report, and what another viewer would make of our marks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted
from radlength.cli.options import Debug, Json, Records
from radlength.cli.talk import console, print_caution, print_json, said_plainly
from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.dicom import Elsewhere, Marked, ReadCanal, ReadReport, Stated

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
            elsewhere,
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
        present = _present(image, records) if image is not None else None
        compared = elsewhere(present) if present is not None else ()
        older = outdated(own, present) if own is not None and present is not None else ()
        if as_json:
            print_json(_data(stated, own, compared, restored) | {"outdated": list(older)})
        else:
            _tell(stated, own, compared, restored)
            for words in older:
                console().print(words)
            print_caution(console())


def _present(image: Path, records: Path | None) -> Marked:
    from radlength.dicom import marked, read_source
    from radlength.imaging import read_radiograph
    from radlength.record import load_record

    try:
        record = load_record(image, records_dir=records)
    except RecordError as exc:
        if exc.code != "record-missing":
            raise
        raise RecordError(
            exc.wrong,
            "a marked image",
            "leave --image out, or add --restore: it writes the record of our report",
            code=exc.code,
            subject=exc.subject,
        ) from exc
    return marked(read_source(image), record, read_radiograph(image))


def _data(
    stated: tuple[Stated, ...], own: ReadReport | None, compared: tuple[Elsewhere, ...], restored: Path | None
) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "measurements": [asdict(one) for one in stated],
        "ours": own is not None,
        "verified_by": list(own.verified_by) if own else [],
        "canals": [_canal(one) for one in own.canals] if own else [],
        "elsewhere": [asdict(one) for one in compared],
        "record": str(restored) if restored else None,
    }


def _canal(one: ReadCanal) -> dict[str, Any]:
    """Return what a report of ours says of a canal beside its numbers."""
    return {
        "canal": one.canal.label,
        "path_px": [list(point) for point in one.canal.path_px],
        "reference_point": one.canal.reference_point,
        "terminus": one.terminus.words if one.terminus else None,
        "scale": one.scale,
        "reference": one.reference,
        "doubts": list(one.doubts),
    }


def _rule(one: ReadCanal) -> str:
    start = f"from {one.canal.reference_point}; " if one.canal.reference_point else ""
    rule = one.terminus.words if one.terminus else "no terminus stated"
    return f"{one.canal.label}: {counted(len(one.canal.path_px), 'point')}; {start}{rule}; {one.scale}"


def _value(one: Stated) -> str:
    """Return a number with its unit and, where the report states it, its range of uncertainty."""
    ends = (one.low, one.high)
    told = " to ".join("?" if end is None else f"{end:.4g}" for end in ends) if ends != (None, None) else ""
    return f"{one.value:.4g} {one.unit}" + (f" ({told})" if told else "")


def _tell(
    stated: tuple[Stated, ...], own: ReadReport | None, compared: tuple[Elsewhere, ...], restored: Path | None
) -> None:
    from rich.table import Table

    out = console()
    table = Table("Of", "Where", "What", "Value", "Measured on", box=None)
    for one in stated:
        measured = f"{one.graphic} of {counted(one.points, 'point')}" if one.graphic else ""
        table.add_row(one.group, one.site, one.name, _value(one), measured)
    if stated:
        out.print(table)
    else:
        out.print("no measurement is in it")
    if own is not None:
        who = ", ".join(own.verified_by)
        out.print(f"Written by radlength; {f'verified by {who}' if who else 'verified by nobody'}.")
    for canal in own.canals if own is not None else ():
        out.print(_rule(canal))
        for doubt in canal.doubts:
            out.print(f"{canal.canal.label}, doubt: {doubt}")
    for other in compared:
        out.print(f"{other.canal}, elsewhere: {other.why}")
    if restored is not None:
        out.print(f"record written: {restored}", soft_wrap=True)
