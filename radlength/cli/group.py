"""Groups of commands: what is typed is looked at before a command sees it, and refused in words of our own."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import typer
from typer.core import TyperGroup

from radlength.cli.empty import refuse_empty_paths


class Group(TyperGroup):
    """Commands whose help loads nothing it does not need; what is no number is said in words of our own."""

    def get_help_option(self, ctx: Any) -> Any:
        """Return the option ``--help``, off by default: what is not set loads a library that checks values."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.default = False
        return option

    def make_context(self, *words: Any, **more: Any) -> Any:
        """Read what is typed; help is written here."""
        with _reader_may_go():
            return super().make_context(*words, **more)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the command that is named, and what is typed after it."""
        name, command, words = super().resolve_command(ctx, args)
        if command is not None and not isinstance(command, TyperGroup):
            refuse_empty_paths(command, words)
        return name, command, words

    def invoke(self, ctx: Any) -> Any:
        """Run a command."""
        try:
            with _reader_may_go():
                return super().invoke(ctx)
        except typer.BadParameter as exc:
            exc.message = in_plain_words(exc.message)
            raise


@contextmanager
def _reader_may_go() -> Iterator[None]:
    """End well where the reader of a pipe has gone, as ``head`` goes; what prints help calls that a failure."""
    try:
        yield
    except (BrokenPipeError, SystemExit) as exc:
        if not isinstance(exc if isinstance(exc, BrokenPipeError) else exc.__context__, BrokenPipeError):
            raise
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115 - say no more
        raise typer.Exit(0) from None


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
