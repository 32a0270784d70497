"""Previews, bends and comparisons as tables for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength.cli.tables import strong
from radlength.cli.talk import print_findings
from radlength.shape.preparation import PROJECTED, thickness_words

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from radlength.shape.compare import Comparison
    from radlength.shape.curvature import Curvature
    from radlength.shape.preview import Option, Preview


def print_preview(out: Console, made: Preview, *, status: str) -> None:
    """Print every option with its cone and needle, the options against each other, and the steps."""
    out.print(strong(f"{made.canal_label}  working length {made.working_length_mm:.1f} mm"))
    out.print(status)
    out.print(
        "mm count from the end of the working length towards the crown; canals round, instruments nominal"
    )
    for option in made.options:
        out.print()
        _option(out, option)
    if any(option.laid.walls for option in made.options):
        out.print()
        out.print(f"{PROJECTED[0].upper()}{PROJECTED[1:]}.")
    _pairs(out, made)
    _steps(out, made)
    if made.findings:
        out.print()
        print_findings(out, made.findings)


def _option(out: Console, option: Option) -> None:
    laid, cone = option.laid, option.cone
    out.print(strong(option.text) + (f"   {option.colours}" if option.colours else ""))
    table = _plain(
        "mm",
        "diameter",
        *(f"to {wall.name} edge" for wall in laid.walls),
        *(["cone loose by"] if cone else []),
    )
    at_level = dict(zip(cone.at_mm.round(6).tolist(), cone.looseness_mm, strict=True)) if cone else {}
    for number, at in enumerate(laid.at_mm):
        cells = [f"{at:g}", f"{laid.diameter_mm[number]:.2f} mm"]
        cells += [thickness_words(wall, number) for wall in laid.walls]
        if cone:
            gap = at_level.get(round(float(at), 6))
            cells.append("" if gap is None else f"{gap:z.2f} mm")
        table.add_row(*cells)
    out.print(table)
    out.print(f"volume {option.volume_mm3:.2f} mm³" + _cut(option))
    if cone:
        short, beyond = cone.tug_back_mm
        out.print(
            f"{cone.cone.label if cone.cone.name else 'cone ' + cone.cone.label}: rests {_short(cone.binds_mm)}; within"
            f" {cone.limit_words} anywhere from {_short(short)} to {_short(beyond)};"
            f" canal taken to open {laid.opening_mm:g} mm up"
        )
    if option.needle:
        n = option.needle
        if n.reaches_end:
            thickest = f"; the thickest of its limits {n.high_mm:.2f} mm short" if n.high_mm > 0 else ""
            binds = f"reaches the end of the working length and binds nowhere{thickest}"
        else:
            binds = f"binds {n.short_mm:.2f} mm short of the working length ({n.low_mm:.2f}–{n.high_mm:.2f})"
        out.print(f"needle {n.needle.label}: {binds}. {n.note}")


def _cut(option: Option) -> str:
    return "" if option.removed_mm3 is None else f", {option.removed_mm3:.2f} mm³ cut from the stated canal"


def _short(mm: float) -> str:
    if abs(mm) < 0.005:
        return "at the working length"
    return f"{abs(mm):.2f} mm {'short' if mm > 0 else 'beyond'}"


def _pairs(out: Console, made: Preview) -> None:
    for pair in made.pairs:
        one, other = pair.names
        crossing = ", ".join(f"{x:.2f}" for x in pair.crossings_mm)
        where = f"equally wide at {crossing} mm" if crossing else "nowhere equally wide"
        out.print(f"{one} against {other}: {where}; {pair.difference_mm3:+z.2f} mm³")


def _steps(out: Console, made: Preview) -> None:
    if not made.steps:
        return
    out.print()
    table = _plain("step", "instrument", "set length", "short", "felt", "your rule")
    for noted in made.steps:
        short = "" if noted.short_mm is None else f"{noted.short_mm:z.1f} mm"
        table.add_row(
            noted.step.step,
            noted.step.instrument.label,
            f"{noted.step.set_length_mm:.1f} mm",
            short,
            noted.step.felt,
            "; ".join(noted.reminders),
        )
    out.print(table)


def print_curvature(out: Console, found: Curvature, *, status: str) -> None:
    """Print every figure with its method, the class, and the profile."""
    out.print(strong(f"{found.label}  {found.form}, in the plane of the image"))
    out.print(status)
    table = _plain("figure", "value and 95 % interval", "method")
    for one in found.readings:
        table.add_row(one.name, one.figures, one.source)
    out.print(table)
    if found.classed:
        rule, name, touched = found.classed
        out.print(
            f"class by the rule {rule!r}: {name}" + (f"; interval: {', '.join(touched)}" if touched else "")
        )
    out.print()
    profile = _plain("mm from the apical end", "curvature", "95 % interval", "radius")
    at = found.profile
    for mm, bent, low, high in zip(at.at_mm, at.per_mm, at.low, at.high, strict=True):
        radius = f"{1 / abs(bent):.1f} mm" if abs(bent) > 0.01 else "over 100 mm"
        profile.add_row(f"{mm:g}", f"{bent:+z.3f} 1/mm", f"{low:+z.3f} to {high:+z.3f}", radius)
    out.print(profile)
    print_findings(out, found.findings)


def print_comparison(out: Console, found: Comparison, *, status: str) -> None:
    """Print how the images lie on each other, every level, and what changed."""
    from radlength.shape.transportation import OPPOSITE, SOURCE

    laid = found.registration
    out.print(strong(f"{found.label}  before and after, projected"))
    out.print(status)
    out.print(
        f"laid on each other: turned {laid.turn_deg:z.2f} degrees, size {laid.size:.3f}; left over"
        f" beyond noise: {laid.residual_px:.2f} px in the middle of {len(laid.blocks.places_px)} places, below"
        f" {laid.worst_px:.2f} px in three quarters of them; beside the canal {found.residual_mm:.3f} mm"
    )
    table = _plain("mm", "removed on either side", "transportation, 95 %", "centring")
    for level, left in zip(found.levels, found.left_on_image, strict=True):
        centring = "nothing removed" if level.centring is None else f"{level.centring:z.2f}"
        removed = {left: level.left_mm, OPPOSITE[left]: level.right_mm}
        size = f"{abs(level.transportation_mm):.2f}"
        carried = left if level.transportation_mm > 0 else OPPOSITE[left]
        table.add_row(
            f"{level.at_mm:g}",
            ", ".join(f"{side} {removed[side]:z.2f}" for side in OPPOSITE if side in removed) + " mm",
            f"{size} ±{1.96 * level.u_mm:.2f} mm{f' to the {carried}' if float(size) else ''}",
            centring,
        )
    out.print(table)
    out.print(f"mm from the apical end; left and right as on the first image; {SOURCE}")
    out.print()
    changes = _plain("figure", "value and 95 % interval", "method")
    for one in found.readings:
        changes.add_row(one.name, one.figures, one.method)
    out.print(changes)
    print_findings(out, found.findings)


def _plain(*names: str) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for name in names:
        table.add_column(name)
    return table
