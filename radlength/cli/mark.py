"""``radlength mark``: put marks into the record of an image."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import typed
from radlength.cli.options import Debug, ImageArgument, Json, Placement, Records, Who
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.record import Record

EXAMPLE = (
    'radlength mark tooth.png --tooth 46 --canal MB --path "80,410 500,431 960,455" '
    '--reference-path "80,410 500,430 905,452" --reference-length 21 --reference-limit 0.25 --offset-mm 1'
)


def mark(
    image: ImageArgument,
    from_file: Annotated[
        Path | None,
        typer.Option("--from", metavar="FILE", help="Marks in a JSON file, as radlength demo writes one."),
    ] = None,
    tooth: Annotated[str | None, typer.Option(help="ISO 3950 number, two digits.")] = None,
    canal: Annotated[str | None, typer.Option(help="Name of the canal: MB, D, single ...")] = None,
    path: Annotated[
        str | None, typer.Option(help='Canal, "row,column ..." from the reference point to the apex.')
    ] = None,
    reference_point: Annotated[str, typer.Option(help="Reference point in words.")] = "",
    reference_path: Annotated[
        str | None,
        typer.Option(help='Reference, "row,column ...": stop to tip along the bend, or two marks.'),
    ] = None,
    reference_length: Annotated[float | None, typer.Option(help="Its real length in mm.")] = None,
    reference_limit: Annotated[
        float | None,
        typer.Option(help="It is known to plus or minus this, mm; 0.5 for a new one.", show_default=False),
    ] = None,
    placement: Annotated[
        Placement | None,
        typer.Option(help="Whether it lies in a canal, as a new one does, or beside the tooth."),
    ] = None,
    reference_name: Annotated[str | None, typer.Option(help="Name of the reference, new or known.")] = None,
    reference_canal: Annotated[str | None, typer.Option(help="Canal it lies in, if another one.")] = None,
    straight: Annotated[
        str | None,
        typer.Option(help='How it is known that the canal does not bend along the beam; "" takes it back.'),
    ] = None,
    offset_mm: Annotated[float | None, typer.Option(help="Terminus: mm short of the apex.")] = None,
    terminus_table: Annotated[
        str | None, typer.Option(help="Terminus: published table; a wrong name lists them.")
    ] = None,
    observation: Annotated[
        str | None, typer.Option(help="Terminus: what was seen, a row of the table.")
    ] = None,
    apex_sd: Annotated[
        float | None, typer.Option(help="Standard deviation of your apex marks, mm; 0.3 in a new record.")
    ] = None,
    end_sd: Annotated[
        float | None,
        typer.Option(help="Standard deviation of your stop and tip marks, mm; 0.1 in a new record."),
    ] = None,
    path_sd: Annotated[
        float | None,
        typer.Option(help="Standard deviation of your clicks along a path, mm; 0.1 in a new record."),
    ] = None,
    pitch_mm: Annotated[
        str | None,
        typer.Option(help="Detector pitch where the file has none, mm: one number, or down,across."),
    ] = None,
    rebind: Annotated[
        bool, typer.Option("--rebind", help="Keep marks that were made on other pixels: the history says so.")
    ] = False,
    who: Who = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Mark a reference and a canal: the record beside the image keeps both.

    A canal that is known keeps what is not given again: --canal MB --offset-mm 1 changes its terminus alone. So does a
    reference: --canal MB --reference-limit 0.1 changes the limit of the one that measures MB. Points are pixels of the
    upright image, the centre of its top-left pixel at 0,0.
    """
    given = dict(locals())
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.marks_given import record_with_marks
        from radlength.imaging import read_radiograph
        from radlength.record import save_record

        _check_usage(given)
        radiograph = read_radiograph(image)
        record = record_with_marks(given, radiograph)
        written = save_record(record, image, records_dir=records)
        _tell(image, record, written, records, as_json=as_json)


def _check_usage(given: dict[str, Any]) -> None:
    """Refuse combinations that say nothing, or half of something."""
    stated = [name for name in _SAYS if given[name] not in (None, False)]
    if given["from_file"] is not None and stated:
        raise typer.BadParameter("--from takes every mark from the file: no other marks beside it")
    if given["from_file"] is None and not stated:
        raise typer.BadParameter("nothing to mark: give --path, --reference-path or --from")
    named = given["reference_name"] is not None
    if given["reference_path"] is not None and given["reference_length"] is None and not named:
        raise typer.BadParameter("--reference-path and --reference-length go together for a new reference")
    known = named or given["canal"] is not None
    if given["reference_path"] is None and given["reference_length"] is not None and not known:
        raise typer.BadParameter("--reference-path and --reference-length go together for a new reference")
    if given["path"] is not None and (given["tooth"] is None or given["canal"] is None):
        raise typer.BadParameter("--path needs --tooth and --canal")
    if given["canal"] is None and any(given[key] is not None for key in _TERMINUS):
        raise typer.BadParameter("a terminus needs --canal")
    if given["canal"] is None and given["straight"] is not None:
        raise typer.BadParameter("--straight needs --canal")


_TERMINUS = ("offset_mm", "terminus_table", "observation")
_REFERENCE = ("reference_path", "reference_length", "reference_limit", "placement", "reference_canal")
_SPREADS = ("apex_sd", "end_sd", "path_sd")
_SAYS = ("path", "straight", "canal", *_REFERENCE, "pitch_mm", *_SPREADS, *_TERMINUS, "rebind")


def _tell(image: Path, record: Record, written: Path, records: Path | None, *, as_json: bool) -> None:
    if as_json:
        canals = [entry.canal.label for entry in record.canals]
        print_json({"record": str(written), "canals": canals, "references": len(record.references)})
        return
    out = console()
    for entry in record.canals:
        ending = entry.terminus.words if entry.terminus else "no terminus stated"
        out.print(
            f"{entry.canal.label}: {len(entry.canal.path_px)} points; reference: {entry.reference or 'none'}; "
            f"{ending}"
        )
    for words in _beside(record):
        out.print(words)
    out.print(f"record written: {written}", soft_wrap=True)
    kept = f" --records {typed(records)}" if records else ""
    out.print(f"next: radlength estimate {typed(image)}{kept}", soft_wrap=True)
    print_caution(out)


def _beside(record: Record) -> Iterator[str]:
    """Yield what is said where another instrument lies in a canal than the one that measures it: a slip stays there."""
    for entry in record.canals:
        others = [
            f"{one.name}, {one.length_mm:g} mm"
            for one in record.references
            if one.name != entry.reference and one.canal is not None and one.lies_in(entry.canal.label)
        ]
        if entry.reference and others:
            yield (
                f"{entry.canal.label}: in it lies another reference too ({'; '.join(others)}), and their scales are "
                "compared; one that was mistyped is corrected by its name: --reference-name"
            )
