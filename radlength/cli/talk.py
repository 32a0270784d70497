"""How every command talks: text for people, JSON for programs, errors as one line."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer

from radlength.errors import RadlengthError
from radlength.trade.cautions import CAUTION

if TYPE_CHECKING:
    from rich.console import Console

    from radlength.finding import Finding

EXIT_DOMAIN, EXIT_FINDING = 1, 3


@contextmanager
def said_plainly(*, as_json: bool, debug: bool) -> Iterator[None]:
    """Turn an error into one line and exit status 1; with `debug` let it through."""
    try:
        yield
    except RadlengthError as exc:
        if debug:
            raise
        _fail(exc.as_dict(), str(exc), as_json=as_json)
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115 - the reader has gone; say no more
        raise typer.Exit(0) from None
    except OSError as exc:
        if debug:
            raise
        words = f"{exc.filename or 'file'}: {exc.strerror or exc}; check the path and the rights"
        _fail({"code": "os-error", "message": words}, words, as_json=as_json)


def _fail(data: dict[str, Any], words: str, *, as_json: bool) -> None:
    if as_json:
        print_json({"error": data, "caution": CAUTION})
    else:
        typer.echo(f"radlength: {' '.join(words.split())}", err=True)
    raise typer.Exit(EXIT_DOMAIN)


def print_json(data: dict[str, Any]) -> None:
    """Print one JSON document with the caution in it."""
    typer.echo(json.dumps({"caution": CAUTION, **data}, indent=1, ensure_ascii=False, allow_nan=False))


def console() -> Console:
    """Return a console: colours on a terminal only, 100 columns at most, 80 in a pipe."""
    from rich.console import Console

    plain = Console(highlight=False, emoji=False, soft_wrap=False)
    plain.width = min(plain.width, 100) if plain.is_terminal else 80
    return plain


def print_caution(out: Console) -> None:
    """Print the caution, at the end of every output."""
    from rich.text import Text

    out.print()
    out.print(Text(CAUTION, style="yellow"))


def print_findings(out: Console, findings: Sequence[Finding]) -> None:
    """Print findings, each with its weight in words and what would remove it."""
    from rich.table import Table

    if not findings:
        return
    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column()
    styles = {"serious": "bold red", "question": "yellow", "note": "dim"}
    for finding in findings:
        style = styles[finding.severity]
        grid.add_row(f"[{style}]{finding.severity}[/]", f"{finding.sentence} [dim]{finding.remedy}[/]")
    out.print(grid)


def exit_for(findings: Sequence[Finding], *, strict: bool) -> None:
    """Exit with 3 where `strict` and a finding is serious."""
    if strict and any(finding.severity == "serious" for finding in findings):
        raise typer.Exit(EXIT_FINDING)
