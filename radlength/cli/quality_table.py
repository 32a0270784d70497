"""Measures and audits of image quality as tables for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength.clean import figures
from radlength.cli.talk import one_line, print_findings

if TYPE_CHECKING:
    from rich.console import Console

    from radlength.imaging.quality import Measure
    from radlength.record.quality import ImageQuality
    from radlength.record.quality_audit import Audit

NOT_DECIDED = "Whether the image is acceptable (A or N) is a person's to say; nothing here decides it."


def print_quality(out: Console, quality: ImageQuality) -> None:
    """Print every measure of one image, then the doubts with what would remove them."""
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False)
    table.add_column("measure", no_wrap=True)
    table.add_column("value", justify="right", no_wrap=True)
    table.add_column("verdict", no_wrap=True)
    table.add_column("of")
    styles = {"good": "green", "doubt": "bold yellow", "not measured": "dim"}
    for measure in quality.measures:
        table.add_row(
            measure.name.replace("_", " "),
            value_words(measure),
            Text(measure.verdict, style=styles[measure.verdict]),
            one_line(measure.subject or "image"),
        )
    out.print(Text(one_line(quality.image), style="bold"))
    out.print(table)
    out.print()
    print_findings(out, quality.findings)
    out.print(f"{len(quality.doubts)} of {len(quality.measures)} measures in doubt. {NOT_DECIDED}")


def value_words(measure: Measure) -> str:
    """Return the value with its unit, a dash where nothing was measured."""
    if measure.value is None:
        return "–"
    if measure.unit == "yes/no":
        return "yes" if measure.value else "no"
    return figures(measure.value, 3) + ("" if measure.unit == "1" else f" {measure.unit}")


def print_audit(out: Console, found: Audit, *, ungraded: int) -> None:
    """Print an audit: the sentence, the kinds of error, who graded, and what is still to be graded."""
    out.print(found.words)
    named = [f"{name} {count}" for name, count in found.errors.items() if count]
    if named:
        out.print(f"Errors named: {', '.join(named)}.")
    out.print(
        "Graded by: "
        + one_line(", ".join(f"{name} ({count})" for name, count in found.graders.items()))
        + "."
    )
    if ungraded:
        out.print(f"Not graded yet: {ungraded}.")
