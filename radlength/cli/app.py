"""All commands in one Typer application."""

from __future__ import annotations

import typer

from radlength._version import __version__
from radlength.trade.cautions import CAUTION


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"radlength {__version__}\n{CAUTION}")
        raise typer.Exit


def _root(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version."
    ),
) -> None:
    """Working length of a root canal from a periapical radiograph.

    Start with: radlength demo
    """


def build_app() -> typer.Typer:
    """Return the application with every command."""
    from radlength.cli import (
        batch,
        case,
        check,
        confirm,
        demo,
        dicom,
        estimate,
        exercise,
        mark,
        phantom,
        quality,
        report,
        shape,
        trace,
        view,
        views,
    )

    app = typer.Typer(
        no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, epilog=CAUTION
    )
    app.callback()(_root)
    for module in (demo, mark, trace, estimate, views, confirm, check, quality, report, view, phantom, batch):
        command = getattr(module, module.__name__.rsplit(".", 1)[-1])
        app.command(epilog=f"Example:  {module.EXAMPLE}\n\n{CAUTION}")(command)
    app.add_typer(case.commands(), name="case", epilog=f"Example:  {case.EXAMPLE}\n\n{CAUTION}")
    app.add_typer(shape.commands(), name="shape", epilog=f"Example:  {shape.EXAMPLE}\n\n{CAUTION}")
    app.add_typer(dicom.commands(), name="dicom", epilog=f"Example:  {dicom.EXAMPLE}\n\n{CAUTION}")
    app.add_typer(exercise.commands(), name="exercise", epilog=f"Example:  {exercise.EXAMPLE}\n\n{CAUTION}")
    return app
