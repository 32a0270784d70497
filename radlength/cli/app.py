"""All commands in one Typer application."""

from __future__ import annotations

from typing import Any

import typer
from typer.core import TyperGroup

from radlength._version import __version__
from radlength.trade.cautions import CAUTION


class _Group(TyperGroup):
    """Commands whose help loads nothing it does not need; what is no number is said in words of our own."""

    def get_help_option(self, ctx: Any) -> Any:
        """Return the option ``--help``, off by default: what is not set loads a library that checks values."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.default = False
        return option

    def invoke(self, ctx: Any) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except typer.BadParameter as exc:
            exc.message = in_plain_words(exc.message)
            raise


def in_plain_words(message: str) -> str:
    """Return what is wrong with an option, plainly where the parser says it in its own words.

    Examples
    --------
    >>> in_plain_words("Input should be a valid number, unable to parse string as a number")
    'not a number; write decimals with a point, as 19.5'
    >>> in_plain_words("Input should be greater than or equal to 1")
    'it should be greater than or equal to 1'
    >>> in_plain_words("Value error, 'up' is not one of 'nearest', 'down'.")
    "'up' is not one of 'nearest', 'down'."
    """
    if message.startswith("Input should be a valid number"):
        return "not a number; write decimals with a point, as 19.5"
    if message.startswith("Input should be a valid integer"):
        return "not a whole number"
    if message.startswith("Input should be "):
        return f"it {message.removeprefix('Input ')}"
    return message.removeprefix("Value error, ")


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
        cls=_Group, no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, epilog=CAUTION
    )
    app.callback()(_root)
    for module in (demo, mark, trace, estimate, views, confirm, check, quality, report, view, phantom, batch):
        command = getattr(module, module.__name__.rsplit(".", 1)[-1])
        app.command(epilog=f"Example:  {module.EXAMPLE}\n\n{CAUTION}")(command)
    for group in (case, shape, dicom, exercise):
        name = group.__name__.rsplit(".", 1)[-1]
        app.add_typer(
            group.commands(), cls=_Group, name=name, epilog=f"Example:  {group.EXAMPLE}\n\n{CAUTION}"
        )
    return app
