"""A measured canal as tables for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength.cli.talk import print_findings
from radlength.report.words import between_words, interval, largest_parts, scale_words

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from radlength.length import Estimate
    from radlength.quantity import Direction


def strong(text: str) -> Text:
    """Return text that stands out on a terminal and is plain in a pipe."""
    from rich.text import Text

    return Text(text, style="bold")


def print_estimate(
    out: Console, estimate: Estimate, *, direction: Direction | None, status: str, brief: bool = False
) -> None:
    """Print lengths, budget, findings and the anatomical band of one canal.

    Parameters
    ----------
    out
        Where to.
    estimate
        The measured canal.
    direction
        Direction of rounding for the stop; ``None`` leaves the rounded figure out.
    status
        What the record says of confirmation.
    brief
        Name the largest parts of the uncertainty instead of printing the budget, and leave notes out.
    """
    from rich.rule import Rule
    from rich.text import Text

    title = Text.assemble((estimate.canal.label, "bold"), f"  {status}")
    out.print(Rule(title, align="left", style="cyan"))
    out.print(_lengths(estimate, direction))
    if brief:
        out.print(f"Most of the uncertainty: {largest_parts(estimate)}.")
        print_findings(out, [finding for finding in estimate.findings if finding.severity != "note"])
        return
    out.print()
    out.print(_budget(estimate))
    out.print()
    _print_narrower(out, estimate)
    print_findings(out, estimate.findings)
    if estimate.anatomy is not None:
        out.print()
        out.print(f"Apart from all this, anatomy: {estimate.anatomy.words}")


def _print_narrower(out: Console, estimate: Estimate) -> None:
    from rich.table import Table

    from radlength.length import narrower

    ways = narrower(estimate)
    if not ways:
        return
    table = Table(box=None, pad_edge=False)
    table.add_column("what would narrow the interval", min_width=40)
    table.add_column("canal length then", no_wrap=True)
    for way in ways:
        needs = " Needs a clinical justification: it exposes the patient." if way.exposes else ""
        table.add_row(way.words + needs, interval(way.canal_length))
    out.print(table)
    out.print()


def _lengths(estimate: Estimate, direction: Direction | None) -> Table:
    grid = _grid()
    length = estimate.canal_length
    _add_working(grid, estimate, direction)
    words = f"{interval(length)}; {between_words(estimate)}"
    grid.add_row("canal length", f"{length.value_mm:.2f} mm", words)
    polyline, straight = estimate.polyline_length.value_mm, estimate.straight_length.value_mm
    grid.add_row("polyline", f"{polyline:.2f} mm", "through the clicks, for comparison only")
    grid.add_row("straight", f"{straight:.2f} mm", "end to end, for comparison only")
    if estimate.gap_mm is not None:
        grid.add_row("gap", f"{estimate.gap_mm:.2f} mm", "tip of the reference to the apex, along the canal")
    if estimate.magnification is not None:
        grid.add_row("magnification", f"{estimate.magnification.value:.3f}", "image over tooth")
    grid.add_row("scale", "", scale_words(estimate))
    return grid


def _add_working(grid: Table, estimate: Estimate, direction: Direction | None) -> None:
    working = estimate.working_length
    if working is None or estimate.terminus is None:
        grid.add_row(strong("working length"), "none", "no terminus stated: --offset-mm or --terminus-table")
        return
    words = f"{interval(working)}; {estimate.terminus.words}"
    grid.add_row(strong("working length"), strong(f"{working.value_mm:.2f} mm"), words)
    if direction is not None:
        stop = estimate.stop_setting_mm(direction=direction)
        grid.add_row("set the stop to", f"{stop:.1f} mm", f"working length rounded to 0.5 mm, {direction}")


def _grid() -> Table:
    from rich.table import Table

    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(no_wrap=True, justify="right")
    grid.add_column()
    return grid


def _budget(estimate: Estimate) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    table.add_column("uncertainty from", no_wrap=True)
    table.add_column("u / mm", justify="right", no_wrap=True)
    table.add_column("share", justify="right", no_wrap=True)
    table.add_column("basis")
    rows = zip(estimate.budget.lines, estimate.budget.shares_percent, strict=True)
    for line, share in sorted(rows, key=lambda row: -row[1]):
        table.add_row(line.name, f"{line.u_mm:.3f}", f"{share:.1f} %", line.basis)
    total = f"{estimate.budget.u_mm:.3f}"
    table.add_row(strong("together"), strong(total), "100 %", "standard uncertainty of the canal length")
    return table
