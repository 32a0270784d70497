"""``radlength confirm``: read a length-confirmation image by the gap method."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Strict, Who
from radlength.cli.points import parse_points, refuse_swapped
from radlength.cli.records import open_marked
from radlength.cli.talk import console, exit_for, print_caution, print_findings, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.length import Confirmation, Estimate
    from radlength.length.fill_end import FillEnd
    from radlength.record import Record

EXAMPLE = (
    'radlength confirm tooth.png --canal MB --set-length 21 --gap "905,452 960,455" --rule "tip within 1 mm"'
)


def confirm(
    image: ImageArgument,
    canal: Annotated[str, typer.Option(help="The canal: its name or 'tooth name'.")],
    set_length: Annotated[float, typer.Option(help="Stop to tip as set, mm.")],
    gap: Annotated[str, typer.Option(help='From the tip to the apex along the canal, "row,column ...".')],
    rule: Annotated[str, typer.Option(help="Name of the rule for accepting; a wrong name lists them.")],
    beyond: Annotated[bool, typer.Option("--beyond", help="The tip is beyond the apex.")] = False,
    set_limit: Annotated[
        float, typer.Option(help="The set length is known to plus or minus this, mm.")
    ] = 0.25,
    filling: Annotated[
        bool,
        typer.Option("--filling", help="The gap is that of a master cone or filling: every fill rule too."),
    ] = False,
    strict: Strict = False,
    who: Who = None,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Confirm a length: set length plus the corrected gap, and what the named rule says."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.length.fill_end import read_fill_end
        from radlength.record import confirm_entry, measure_entry, save_record

        record, radiograph = open_marked(image, records)
        entry = record.entry(canal)
        before = measure_entry(record, entry, radiograph)
        path = parse_points(gap, subject="--gap")
        refuse_swapped(path, radiograph.shape, subject="--gap")
        done = confirm_entry(
            record, entry, radiograph, set_length, path,
            estimate=before, rule=rule, beyond=beyond, set_limit_mm=set_limit,
        )  # fmt: skip
        fill = read_fill_end(done.gap) if filling else None
        record = record.with_confirmation(entry.id, done, path, who=who)
        save_record(record, image, records_dir=records)
        if as_json:
            _as_json(image, record, entry.canal.label, done, fill, before)
        else:
            _as_text(record, entry.canal.label, done, fill)
        exit_for([*done.findings, *(fill.findings if fill else ())], strict=strict)


def _as_json(
    image: Path, record: Record, label: str, done: Confirmation, fill: FillEnd | None, before: Estimate
) -> None:
    from radlength.record.confirmed import why_not_confirmed

    print_json(
        {
            "image": image.name,
            "canal": label,
            "status": record.status,
            "invented": record.invented,
            "not_confirmed": why_not_confirmed(vars(record)),
            "confirmation": done.as_dict(),
            "fill": fill.as_dict() if fill else None,
            "estimate_before": before.canal_length.as_dict(),
        }
    )


DOUBTED = "by the gap alone; not confirmed, for what is serious below"


def _as_text(record: Record, label: str, done: Confirmation, fill: FillEnd | None) -> None:
    from rich.table import Table

    from radlength.cli.tables import strong
    from radlength.record.confirmed import why_not_confirmed
    from radlength.report.words import interval, status_words
    from radlength.trade.repeat import VERDICT_WORDS

    out = console()
    out.print(strong(f"{label}  {status_words(record)}"))
    grid = Table.grid(padding=(0, 2))
    for _ in range(3):
        grid.add_column()
    grid.add_row("set length", f"{done.set_length_mm:.2f} mm", "stop to tip")
    grid.add_row("gap", f"{done.gap.value_mm:z.2f} mm", f"{interval(done.gap)}; tip to radiographic apex")
    apex = f"{interval(done.canal_length)}; to the radiographic apex"
    grid.add_row("canal length", f"{done.canal_length.value_mm:.2f} mm", apex)
    if done.working_length is not None and done.terminus is not None:
        words = f"{interval(done.working_length)}; {done.terminus.words}"
        grid.add_row(strong("working length"), strong(f"{done.working_length.value_mm:.2f} mm"), words)
    else:
        grid.add_row(strong("working length"), "none", "no terminus stated; state one: radlength mark --help")
    serious = any(finding.severity == "serious" for finding in done.findings)
    means = DOUBTED if serious and done.verdict == "accept" else VERDICT_WORDS[done.verdict]
    why = f"{means} (rule: {done.rule.name}, {done.rule.source})"
    grid.add_row(strong("verdict"), strong(done.verdict), why)
    for reading in fill.readings if fill else ():
        grid.add_row("filling", reading.verdict, f"{reading.rule.name} ({reading.rule.source})")
    out.print(grid)
    for other, reason in why_not_confirmed(vars(record)).items():
        if other != label:
            out.print(f"{other}: not confirmed: {reason}")
    print_findings(out, [*done.findings, *(fill.findings if fill else ())])
    print_caution(out)
