"""``radlength case show``: every canal with its lengths at one end point, its time line, its decision, its doubts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.case_options import CaseFolder
from radlength.cli.case_said import with_commands
from radlength.cli.options import Canals, Debug, Json, Strict
from radlength.cli.talk import console, exit_for, print_caution, print_findings, print_json, said_plainly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from radlength.finding import Finding
    from radlength.length.reconcile_mean import Combined
    from radlength.quantity import Quantity
    from radlength.record.case import Case
    from radlength.record.case_state import CanalState

EXAMPLE = "radlength case show tooth46 --canal MB"
WIDE = 44
MOST_NAMES = 12


def show(
    folder: CaseFolder,
    canal: Canals = None,
    combine: Annotated[
        bool, typer.Option("--combine", help="Also a weighted mean of the lengths, with its weights.")
    ] = False,
    strict: Strict = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Show a case: lengths side by side at one end point, agreement and conflict, time line, decision."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_files import case_file_findings
        from radlength.record.case_findings import case_findings
        from radlength.record.case_state import canal_state, state_as_dict
        from radlength.record.case_store import load_case

        case = load_case(folder)
        labels = [case.canal(canal).label] if canal is not None else [one.label for one in case.canals]
        states = [canal_state(case, label) for label in labels]
        means = [_combined(state) if combine else None for state in states]
        home = folder if folder.is_dir() else folder.parent
        doubts = (*case_file_findings(case, home), *case_findings(case))
        if as_json:
            rows = [
                state_as_dict(state) | {"combined": mean.as_dict() if mean else None}
                for state, mean in zip(states, means, strict=True)
            ]
            images = [image.model_dump(mode="json", exclude_none=True) for image in case.images]
            print_json(
                {
                    "status": case.status,
                    "invented": case.invented,
                    "images": images,
                    "canals": rows,
                    "findings": [finding.as_dict() for finding in doubts],
                }
            )
        else:
            _print(case, states, means, with_commands(doubts, case, home))
        exit_for([*doubts, *(f for state in states for f in state.findings)], strict=strict)


def _combined(state: CanalState) -> Combined | None:
    from radlength.length.reconcile_mean import combine

    found = state.side_by_side
    if found is None or sum(moved is not None for moved in found.at_apex) < 2:
        return None
    return combine(found)


def _print(
    case: Case, states: list[CanalState], means: list[Combined | None], doubts: Sequence[Finding]
) -> None:
    from rich.rule import Rule
    from rich.text import Text

    from radlength.cli.tables import strong

    out = console()
    out.print(strong(f"Case: {case.status}{' · invented case' if case.invented else ''}"))
    if case.images:
        out.print(_images(case))
    print_findings(out, doubts)
    for state, mean in zip(states, means, strict=True):
        out.print()
        out.print(Rule(Text.assemble((state.label, "bold"), f"  {state.status_words}"), align="left"))
        _print_canal(out, case, state, mean)
    print_caution(out)


def _images(case: Case) -> Any:
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for name in ("no.", "image", "stage", "taken", "view"):
        table.add_column(name, overflow="fold")
    for image in case.images:
        stage = f"{image.stage} ({image.label})" if image.label else image.stage
        table.add_row(str(image.number), image.path, stage, f"{image.taken}", image.view)
    return table


def _print_canal(out: Console, case: Case, state: CanalState, mean: Combined | None) -> None:
    from radlength.record.case_state import decided_at_apex

    series = case.series(state.label)[-1]
    out.print(f"from {series.words}, since {series.entered:%Y-%m-%d}")
    for note in case.notes(state.label):
        beside = f" {note.other if note.canal == state.label else note.canal}" if note.other else ""
        out.print(f"noted: {note.state}{beside}{f': {note.words}' if note.words else ''}")
    if state.side_by_side is None:
        out.print("no length from this reference point yet")
    else:
        out.print(_lengths(state))
        _print_pairs(out, state)
        out.print(_time_line(case, state, decided_at_apex(case, state.label)))
    for trend in state.trends:
        names, many = ", ".join(trend.names[:MOST_NAMES]), len(trend.names)
        told = names if many <= MOST_NAMES else f"{names} and so on to {trend.names[-1]}, {many} in all"
        out.print(f"change over {told}: {_signed(trend.change)}")
    if mean is not None:
        weights = ", ".join(f"{name} {w:.2f}" for name, w in zip(mean.names, mean.weights, strict=True))
        out.print(f"weighted mean, to the radiographic apex: {mean.length}; weights: {weights}")
        print_findings(out, mean.findings)
    if state.decision is not None:
        _print_decision(out, state)
    print_findings(out, state.findings)


def _signed(change: Any) -> str:
    from radlength.quantity import outward

    low, high = outward(change.low_mm, change.high_mm, 1)
    return f"{change.value_mm:+z.1f} mm ({low:+z.1f} to {high:+z.1f})"


def _print_decision(out: Console, state: CanalState) -> None:
    from radlength.cli.tables import strong
    from radlength.length.reconcile import end_words

    made = state.decision
    assert made is not None  # noqa: S101 - the caller asked
    based = ", ".join(map(str, made.based_on))
    words = f"{made.value_mm:g} mm, ends {end_words(made.landmark, made.short_mm)}; based on {based}"
    out.print(
        strong(f"decided by {made.by}, {made.entered:%Y-%m-%d}: {words}{f'; {made.why}' if made.why else ''}")
    )


def _lengths(state: CanalState) -> Any:
    from rich.table import Table

    from radlength.length.reconcile import end_words

    table = Table(box=None, pad_edge=False)
    table.add_column("no.", justify="right", no_wrap=True)
    table.add_column("method, where it ends")
    table.add_column("length", justify="right", no_wrap=True)
    table.add_column("to the radiographic apex", no_wrap=True)
    found = state.side_by_side
    for event, moved in zip(state.lengths, found.at_apex if found else (), strict=True):
        table.add_row(
            str(event.number),
            f"{event.method}, {event.flaring}; {end_words(event.landmark, event.short_mm)}",
            f"{event.length.value_mm:.2f} mm",
            str(moved.length) if moved else "not converted",
        )
    return table


def _time_line(case: Case, state: CanalState, decided: Quantity | None) -> Any:
    """Return the lengths to the radiographic apex under each other, in the order of the work."""
    from rich.table import Table

    moved = state.side_by_side.at_apex if state.side_by_side else ()
    rows = [
        (case.day_of(event), str(event.number), one.length, "●")
        for event, one in zip(state.lengths, moved, strict=True)
        if one is not None
    ]
    if decided is not None and state.decision is not None:
        rows.append((state.decision.entered.date(), str(state.decision.number), decided, "◆"))
    if not rows:
        return ""
    low = float(math.floor(min(length.low for _, _, length, _ in rows)))
    high = max(float(math.ceil(max(length.high for _, _, length, _ in rows))), low + 1)
    grid = Table(box=None, pad_edge=False, show_header=True)
    grid.add_column("time line", no_wrap=True)
    grid.add_column("no.", no_wrap=True, justify="right")
    ends = f"{low:.0f} mm", f"{high:.0f} mm"
    grid.add_column(ends[0] + ends[1].rjust(WIDE - len(ends[0])), no_wrap=True)
    for when, number, length, sign in rows:
        grid.add_row(f"{when:%Y-%m-%d}", number, _bar(length, low, high, sign))
    return grid


def _bar(length: Quantity, low: float, high: float, sign: str) -> str:
    """Return an interval as a line of signs, so that lengths stand under each other."""
    places = [round((v - low) / (high - low) * (WIDE - 1)) for v in (length.low, length.value, length.high)]
    signs = [" "] * WIDE
    for place in range(places[0], places[2] + 1):
        signs[place] = "─"
    signs[places[1]] = sign
    return "".join(signs).rstrip()


def _print_pairs(out: Console, state: CanalState) -> None:
    from radlength.length.reconcile import MOST_LISTED

    found = state.side_by_side
    if found is None or not found.pairs:
        return
    if len(found.pairs) > MOST_LISTED:
        out.print(
            f"{len(found.pairs)} pairs compared; the findings say which disagree, --json lists the worst"
        )
        return
    words = [
        f"{pair.first.split(' ', 1)[0]}–{pair.second.split(' ', 1)[0]} {pair.e_n:.2f}" for pair in found.pairs
    ]
    out.print(f"E_n of each pair (above 1: they disagree): {', '.join(words)}")
