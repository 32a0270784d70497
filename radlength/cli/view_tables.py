"""Canals measured from two images as tables for the terminal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from radlength.cli.tables import strong
from radlength.cli.talk import print_findings
from radlength.report.words import interval

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from radlength.finding import Finding
    from radlength.length.two_views import CanalOfTwoViews, TwoViewEstimate
    from radlength.quantity import Direction, Quantity

SIDES = {
    "buccal": "buccal, toward the tube, against {what}",
    "lingual": "lingual or palatal, away from the tube, against {what}",
    "undecided": "neither buccal nor lingual of {what}, as far as these marks tell",
    None: "nothing to compare with: mark a second canal",
}


def print_views(out: Console, found: TwoViewEstimate, *, direction: Direction | None, status: str) -> None:
    """Print every canal in space, then the angle between the views and the findings.

    Parameters
    ----------
    out
        Where to.
    found
        The measured tooth.
    direction
        Direction of rounding for the stop; ``None`` leaves the rounded figure out.
    status
        What the record says of confirmation.
    """
    from rich.rule import Rule
    from rich.text import Text

    for one in found.canals:
        title = Text.assemble((one.canal.label, "bold"), f"  from two views  {status}")
        out.print(Rule(title, align="left", style="cyan"))
        out.print(_canal(one, found, direction))
        out.print()
    out.print(_angle(found))
    print_findings(out, [_named(finding) for finding in found.findings])


def _canal(one: CanalOfTwoViews, found: TwoViewEstimate, direction: Direction | None) -> Table:
    from rich.table import Table

    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(no_wrap=True, justify="right")
    grid.add_column()
    if one.working_length is None or one.terminus is None:
        grid.add_row(strong("working length"), "none", "no terminus stated: --offset-mm or --terminus-table")
    else:
        words = f"{interval(one.working_length)}; {one.terminus.words}"
        grid.add_row(strong("working length"), strong(f"{one.working_length.value_mm:.2f} mm"), words)
        if direction is not None:
            stop = one.stop_setting_mm(direction=direction)
            grid.add_row("set the stop to", f"{stop:.1f} mm", f"rounded to 0.5 mm, {direction}")
    grid.add_row("canal length", *_length(one.canal_length), style="bold")
    grid.add_row("  straight image alone", *_length(one.straight.canal_length))
    grid.add_row("  shifted image alone", *_length(one.shifted.canal_length))
    space = one.in_space
    bend = f"±{2 * space.u_bend_deg:.0f}°, plus is toward the tube; one image does not show it"
    grid.add_row("bend along the beam", f"{space.bend_along_beam_deg:+z.0f}°", bend)
    depth = f"{space.depth_mm:+z.1f} mm" if space.u_depth_mm else ""
    what = "the other canals" if len(found.canals) > 1 else "the marker"
    grid.add_row("side", depth, SIDES[space.side].format(what=what))
    return grid


def _length(length: Quantity) -> tuple[str, str]:
    return f"{length.value_mm:.2f} mm", interval(length)


def _named(finding: Finding) -> Finding:
    """Return a finding whose sentence names the canal it is about."""
    if finding.subject is None or finding.subject in finding.sentence:
        return finding
    return replace(finding, sentence=f"{finding.subject}: {finding.sentence}")


def _angle(found: TwoViewEstimate) -> str:
    result = found.result
    angle = f"Angle between the views {abs(result.shift_deg):.0f}° ±{2 * result.u_shift_deg:.0f}°"
    if result.method == "marker":
        return f"{angle}, found from the marker."
    return f"{angle}, by declaration. Sides and signs of bends are as right as the direction: {found.shift}."
