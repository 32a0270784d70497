"""``radlength mark``: put marks into the record of an image."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Who
from radlength.cli.points import parse_points
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.record import Record

EXAMPLE = (
    'radlength mark tooth.png --tooth 46 --canal MB --path "80,410 500,431 960,455" '
    '--reference-path "80,410 905,452" --reference-length 21 --reference-limit 0.25 --offset-mm 1'
)


def mark(
    image: ImageArgument,
    from_file: Annotated[
        Path | None, typer.Option("--from", help="Marks in a file instead of options.")
    ] = None,
    tooth: Annotated[str | None, typer.Option(help="ISO 3950 number, two digits.")] = None,
    canal: Annotated[str | None, typer.Option(help="Name of the canal: MB, D, single ...")] = None,
    path: Annotated[
        str | None, typer.Option(help='Canal, "row,column ..." from the reference point to the apex.')
    ] = None,
    reference_point: Annotated[str, typer.Option(help="Reference point in words.")] = "",
    reference_path: Annotated[
        str | None, typer.Option(help='Reference, "row,column ..." from stop to tip or between two marks.')
    ] = None,
    reference_length: Annotated[float | None, typer.Option(help="Its real length in mm.")] = None,
    reference_limit: Annotated[float, typer.Option(help="It is known to plus or minus this, mm.")] = 0.5,
    placement: Annotated[str, typer.Option(help="in_canal or beside.")] = "in_canal",
    reference_name: Annotated[str | None, typer.Option(help="Name of the reference, new or known.")] = None,
    reference_canal: Annotated[str | None, typer.Option(help="Canal it lies in, if another one.")] = None,
    offset_mm: Annotated[float | None, typer.Option(help="Terminus: mm short of the apex.")] = None,
    terminus_table: Annotated[str | None, typer.Option(help="Terminus: name of a published table.")] = None,
    observation: Annotated[
        str | None, typer.Option(help="Terminus: what was seen, a row of the table.")
    ] = None,
    apex_sd: Annotated[float | None, typer.Option(help="Spread of your apex marks, mm.")] = None,
    end_sd: Annotated[float | None, typer.Option(help="Spread of your stop and tip marks, mm.")] = None,
    path_sd: Annotated[float | None, typer.Option(help="Spread of your clicks along a path, mm.")] = None,
    pitch_mm: Annotated[
        str | None, typer.Option(help="Detector pitch in mm, where the file has none.")
    ] = None,
    who: Who = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Mark a reference and a canal: the record beside the image keeps both."""
    given = dict(locals())
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.imaging import read_radiograph
        from radlength.record import save_record

        radiograph = read_radiograph(image)
        record = _record(given, radiograph)
        written = save_record(record, image, records_dir=records)
        _tell(record, written, as_json=as_json)


def _record(given: dict[str, Any], radiograph: Radiograph) -> Record:
    from radlength.cli.marks_file import record_from_marks
    from radlength.errors import RecordError
    from radlength.record import Record, check_binding, load_record, record_path

    image, records, who = given["image"], given["records"], given["who"]
    there = record_path(image, records).exists()
    if given["from_file"] is not None:
        if there:
            raise RecordError(
                "there is a record already; marks from a file would replace it",
                remedy="move it away, or add canals one by one",
                code="record-exists",
                subject=image.name,
            )
        return record_from_marks(given["from_file"], radiograph, who=who)
    record = load_record(image, records_dir=records) if there else Record.new(radiograph, who=who)
    check_binding(record, radiograph)
    record = _with_settings(record, given)
    record = _with_reference(record, given)
    return _with_canal(record, given)


def _with_settings(record: Record, given: dict[str, Any]) -> Record:
    who, ends = given["who"], given["end_sd"]
    spread = {"apex_mm": given["apex_sd"], "stop_mm": ends, "tip_mm": ends, "path_mm": given["path_sd"]}
    changed = {name: value for name, value in spread.items() if value is not None}
    if changed:
        record = record.with_marking(replace(record.marking, **changed), who=who)
    if given["pitch_mm"] is not None:
        parts = given["pitch_mm"].split(",")
        row, column = parse_points(f"{parts[0]},{parts[-1]}", subject="--pitch-mm")[0]
        record = record.with_stated_pitch(row, column, who=who)
    return record


def _with_reference(record: Record, given: dict[str, Any]) -> Record:
    from radlength.scale import Reference

    if given["reference_path"] is None:
        return record
    if given["reference_length"] is None:
        raise typer.BadParameter("--reference-path needs --reference-length")
    reference = Reference(
        path_px=parse_points(given["reference_path"], subject="--reference-path"),  # type: ignore[arg-type]
        length_mm=given["reference_length"],
        limit_mm=given["reference_limit"],
        placement=given["placement"],
        name=given["reference_name"] or f"reference {len(record.references) + 1}",
        canal=given["reference_canal"] or (given["canal"] if given["placement"] == "in_canal" else None),
    )
    return record.with_reference(reference, who=given["who"])


def _with_canal(record: Record, given: dict[str, Any]) -> Record:
    from radlength.length import Canal, Terminus

    if given["path"] is None:
        return record
    if given["tooth"] is None or given["canal"] is None:
        raise typer.BadParameter("--path needs --tooth and --canal")
    stated = {name: given[key] for name, key in _TERMINUS.items() if given[key] is not None}
    canal = Canal(
        tooth=given["tooth"],
        name=given["canal"],
        path_px=parse_points(given["path"], subject="--path"),  # type: ignore[arg-type]
        reference_point=given["reference_point"],
    )
    last = record.references[-1].name if record.references else None
    return record.with_canal(
        canal,
        reference=given["reference_name"] or last,
        terminus=Terminus(**stated) if stated else None,
        who=given["who"],
    )


_TERMINUS = {"offset_mm": "offset_mm", "table": "terminus_table", "observation": "observation"}


def _tell(record: Record, written: Path, *, as_json: bool) -> None:
    if as_json:
        canals = [entry.canal.label for entry in record.canals]
        print_json({"record": str(written), "canals": canals, "references": len(record.references)})
        return
    out = console()
    for entry in record.canals:
        out.print(
            f"{entry.canal.label}: {len(entry.canal.path_px)} points, reference: {entry.reference or 'none'}"
        )
    out.print(f"record written: {written}", soft_wrap=True)
    out.print(f"next: radlength estimate {record.image.name}", soft_wrap=True)
    print_caution(out)
