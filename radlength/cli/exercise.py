"""``radlength exercise``: make sets of exercises, take them, score them, and look at a class."""

from __future__ import annotations

import typer

from radlength.trade.cautions import CAUTION

EXAMPLE = "radlength exercise new course"


def commands() -> typer.Typer:
    """Return the four commands as one group."""
    from radlength.cli import exercise_class, exercise_new, exercise_score, exercise_take

    group = typer.Typer(
        no_args_is_help=True,
        help="Exercises with known answers: make a set, take it blind, score it, look at a class.",
        epilog=f"Example:  {EXAMPLE}\n\n{CAUTION}",
    )
    for name, module in (
        ("new", exercise_new),
        ("take", exercise_take),
        ("score", exercise_score),
        ("class", exercise_class),
    ):
        group.command(name, epilog=f"Example:  {module.EXAMPLE}\n\n{CAUTION}")(module.run)
    return group
