"""``radlength case correct``: put a length right. The old one stays; the new one says which it replaces and why."""

from __future__ import annotations

from typing import Annotated

import typer

from radlength.cli.case_options import CaseFolder, EnteredBy
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly
from radlength.errors import RecordError

EXAMPLE = 'radlength case correct tooth46 5 --value 21 --why "the stop had slipped"'


def correct(
    folder: CaseFolder,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Number of the length that was wrong.")],
    why: Annotated[str, typer.Option(help="The reason, in words.")],
    value: Annotated[float | None, typer.Option(help="The right length, mm.")] = None,
    limit: Annotated[float | None, typer.Option(help="Its right limit, mm.")] = None,
    canal: Annotated[str | None, typer.Option(help="The right canal.")] = None,
    withdraw: Annotated[
        bool, typer.Option("--withdraw", help="It should not be there at all: take it out of what counts.")
    ] = False,
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Correct a length: the old one stays in the case and counts no more."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.case_said import say_saved
        from radlength.record.case_lengths import correct_length, withdraw_length
        from radlength.record.case_store import load_case, save_case

        case = load_case(folder)
        if withdraw:
            _nothing_else(value, limit, canal)
            case = withdraw_length(case, number, why=why, who=who)
            words = f"length {number} withdrawn"
        else:
            case = correct_length(case, number, why=why, value_mm=value, limit_mm=limit, canal=canal, who=who)
            words = f"length {number} corrected by number {len(case.events)}"
        say_saved(case, save_case(case, folder), words, as_json=as_json)


def _nothing_else(*given: object) -> None:
    if any(one is not None for one in given):
        raise RecordError(
            "a length withdrawn and corrected at once",
            "one of the two",
            code="case-withdraw",
            subject="--withdraw",
        )
