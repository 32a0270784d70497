"""How every command talks: text for people, JSON for programs, errors as one line."""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer

from radlength.clean import encodable, harmless, refused
from radlength.errors import RadlengthError
from radlength.trade.cautions import CAUTION

if TYPE_CHECKING:
    from rich.console import Console

    from radlength.finding import Finding

EXIT_DOMAIN, EXIT_FINDING = 1, 3
WIDEST, NARROWEST = 100, 60


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
        words = f"{exc.filename or 'what was to be read or written'}: {_of_the_system(exc)}"
        _fail({"code": "os-error", "message": words}, words, as_json=as_json)


def _of_the_system(exc: OSError) -> str:
    """Return what the system refused and what to do about it."""
    if isinstance(exc, FileExistsError | NotADirectoryError):
        remedy = "choose another name, or move the file away"
    elif isinstance(exc, IsADirectoryError):
        remedy = "give the name of a file"
    elif exc.errno == errno.ENOSPC:
        remedy = "make room there, then do it again"
    else:
        remedy = "check the path and the rights"
    return f"{refused(exc)}; {remedy}"


def _fail(data: dict[str, Any], words: str, *, as_json: bool) -> None:
    try:
        if as_json:
            print_json({"error": data})
    except OSError:  # what cannot be written there is said where people look
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115
        as_json = False
    if not as_json:
        typer.echo(f"radlength: {one_line(words)}", err=True)
    raise typer.Exit(EXIT_DOMAIN)


def one_line(words: str) -> str:
    r"""Return words as one line that a terminal only shows.

    Examples
    --------
    >>> one_line("tooth\n\x1b[31m.png")
    'tooth ?[31m.png'
    """
    return "".join(char if char.isprintable() else "?" for char in " ".join(words.split()))


def print_json(data: dict[str, Any]) -> None:
    """Print one JSON document with the caution in it."""
    document = json.dumps({"caution": CAUTION, **data}, indent=1, ensure_ascii=False, allow_nan=False)
    typer.echo(encodable(document))


def console() -> Console:
    """Return a console that takes brackets as they are: colours on a terminal only, at most 100 columns.

    What steers a terminal, as a name from a stranger's record may, is shown as a question mark.
    """
    from rich.console import Console
    from rich.segment import Segment

    class Plain(Console):
        def render(self, renderable: Any, options: Any = None) -> Iterator[Segment]:
            """Yield what is written, its own colours and nothing else that steers."""
            for part in super().render(renderable, options):
                yield part if part.control else Segment(harmless(part.text), part.style)

        def on_broken_pipe(self) -> None:
            """Leave it to the command: a reader that has gone is no error."""
            raise BrokenPipeError

    plain = Plain(highlight=False, emoji=False, markup=False, soft_wrap=False)
    plain.width = max(min(plain.width, WIDEST), NARROWEST)
    return plain


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Show that something takes its time: on a terminal only, and never in what a program reads."""
    from rich.console import Console

    told = Console(stderr=True, markup=False)
    if not told.is_terminal:
        yield
        return
    with told.status(words):
        yield


def print_caution(out: Console) -> None:
    """Print the caution, at the end of every output."""
    from rich.text import Text

    out.print()
    out.print(Text(CAUTION, style="yellow"))


def print_findings(out: Console, findings: Sequence[Finding]) -> None:
    """Print findings, the worst first, each with its weight in words and what would remove it."""
    from rich.table import Table
    from rich.text import Text

    if not findings:
        return
    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")  # a path in a command is never cut
    styles = {"serious": "bold red", "question": "yellow", "note": "dim"}
    for finding in sorted(findings, key=lambda one: list(styles).index(one.severity)):
        words = Text(f"{finding.sentence} ").append(finding.remedy, style="italic")
        grid.add_row(Text(finding.severity, style=styles[finding.severity]), words)
    out.print(grid)


def exit_for(findings: Sequence[Finding], *, strict: bool) -> None:
    """Exit with 3 where `strict` and a finding is serious."""
    if strict and any(finding.severity == "serious" for finding in findings):
        raise typer.Exit(EXIT_FINDING)
