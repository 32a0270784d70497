"""``radlength case``: a treatment over time: images, lengths, corrections, and the decision a person makes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from radlength.clean import typed
from radlength.cli.case_options import CaseFolder
from radlength.cli.case_said import say_saved, told
from radlength.cli.group import Group
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly
from radlength.errors import RecordError

EXAMPLE = "radlength case show tooth46"
NEW_EXAMPLE = "radlength case new tooth46"


def commands() -> typer.Typer:
    """Return the group with its commands."""
    from radlength.cli import case_add, case_correct, case_decide, case_demo, case_report, case_show

    group = typer.Typer(no_args_is_help=True, help="A treatment over time: images, lengths, decisions.")
    group.command("new", epilog=told(NEW_EXAMPLE))(new)
    group.add_typer(case_add.commands(), cls=Group, name="add", epilog=told(case_add.EXAMPLE))
    group.command("show", epilog=told(case_show.EXAMPLE))(case_show.show)
    group.command("correct", epilog=told(case_correct.EXAMPLE))(case_correct.correct)
    group.command("report", epilog=told(case_report.EXAMPLE))(case_report.report)
    group.command("demo", epilog=told(case_demo.EXAMPLE))(case_demo.demo)
    group.command("decide", epilog=told(case_decide.EXAMPLE))(case_decide.decide)
    return group


def new(
    folder: CaseFolder,
    invented: Annotated[bool, typer.Option("--invented", help="No real tooth: say so everywhere.")] = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Begin a case in a folder: one tooth treatment, or several."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case import Case
        from radlength.record.case_store import case_path, save_case

        if case_path(folder).exists():
            raise _there_already(folder)
        case = Case.new(invented=invented)
        folder.mkdir(parents=True, exist_ok=True)
        written = save_case(case, folder)
        say_saved(case, written, "case begun", as_json=as_json)


def _there_already(folder: Path) -> RecordError:
    return RecordError(
        "there is a case in this folder already",
        "a folder without one",
        f"see it: radlength case show {typed(folder)}",
        code="case-there",
        subject=str(folder),
    )
