"""A measured canal as a table for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength.cli.talk import print_findings
from radlength.report.words import METHODS, interval

if TYPE_CHECKING:
    from rich.console import Console

    from radlength.length import Estimate
    from radlength.quantity import Direction


def print_estimate(out: Console, estimate: Estimate, *, direction: Direction | None, status: str) -> None:
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
    """
    from rich.rule import Rule

    out.print(Rule(f"[bold]{estimate.canal.label}[/]  {status}", align="left", style="cyan"))
    out.print(_lengths(estimate, direction))
    out.print(_budget(estimate))
    print_findings(out, estimate.findings)
    if estimate.anatomy is not None:
        out.print(f"[dim]apart from this: {estimate.anatomy.words}[/]")


def _lengths(estimate: Estimate, direction: Direction | None):  # type: ignore[no-untyped-def]
    from rich.table import Table

    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(no_wrap=True, justify="right")
    grid.add_column()
    working, length = estimate.working_length, estimate.canal_length
    if working is not None and estimate.terminus is not None:
        words = f"{interval(working)}; {estimate.terminus.words}"
        grid.add_row("[bold]working length[/]", f"[bold]{working.value_mm:.2f} mm[/]", words)
        if direction is not None:
            stop = estimate.stop_setting_mm(direction=direction)
            grid.add_row("set the stop to", f"{stop:.1f} mm", f"rounded to 0.5 mm, {direction}")
    else:
        grid.add_row("[bold]working length[/]", "none", "no terminus stated: --offset-mm or --terminus-table")
    grid.add_row(
        "canal length", f"{length.value_mm:.2f} mm", f"{interval(length)}; to the marked radiographic apex"
    )
    grid.add_row(
        "polyline", f"{estimate.polyline_length.value_mm:.2f} mm", "through the clicks, for comparison"
    )
    grid.add_row("straight", f"{estimate.straight_length.value_mm:.2f} mm", "end to end, for comparison")
    if estimate.gap_mm is not None:
        grid.add_row("gap", f"{estimate.gap_mm:.2f} mm", "tip of the reference to the apex, along the canal")
    if estimate.magnification is not None:
        grid.add_row("magnification", f"{estimate.magnification.value:.3f}", "image over tooth")
    if estimate.reference is not None:
        ref = estimate.reference
        grid.add_row("scale", "", f"{METHODS[estimate.method]}: {ref.length_mm:g} ±{ref.limit_mm:g} mm")
    else:
        grid.add_row("scale", "", METHODS[estimate.method])
    return grid


def _budget(estimate: Estimate):  # type: ignore[no-untyped-def]
    from rich.table import Table

    table = Table(title="where the uncertainty comes from", title_justify="left", box=None, pad_edge=False)
    table.add_column("part", no_wrap=True)
    table.add_column("u / mm", justify="right", no_wrap=True)
    table.add_column("share", justify="right", no_wrap=True)
    table.add_column("basis")
    rows = zip(estimate.budget.lines, estimate.budget.shares_percent, strict=True)
    for line, share in sorted(rows, key=lambda row: -row[1]):
        table.add_row(line.name, f"{line.u_mm:.3f}", f"{share:.0f} %", line.basis)
    table.add_row(
        "[bold]together[/]", f"[bold]{estimate.budget.u_mm:.3f}[/]", "100 %", "standard uncertainty"
    )
    return table
