"""``radlength shape``: what size and taper mean on a canal, how much it bends, and what changed between two images."""

from __future__ import annotations

import typer

from radlength.trade.cautions import CAUTION

EXAMPLE = "radlength shape preview tooth.png --option 25/.06 --option 30/.04 --png tooth-shape.png"


def commands() -> typer.Typer:
    """Return the group with its commands."""
    from radlength.cli import shape_compare, shape_curvature, shape_preview

    group = typer.Typer(
        no_args_is_help=True,
        help="Size and taper along a canal, its curvature, and what changed between two images.",
    )
    modules = ((shape_preview, "preview"), (shape_curvature, "curvature"), (shape_compare, "compare"))
    for module, name in modules:
        command = getattr(module, name)
        group.command(epilog=f"Example:  {module.EXAMPLE}\n\n{CAUTION}")(command)
    return group
