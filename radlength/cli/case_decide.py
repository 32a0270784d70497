"""``radlength case decide``: write down what a person decided. Nothing is proposed, nothing has a default."""

from __future__ import annotations

from typing import Annotated, cast

import typer

from radlength.cli.case_options import CaseFolder, OneCanal, Why, chosen, numbers
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly
from radlength.errors import RecordError

EXAMPLE = (
    "radlength case decide tooth46 --canal MB --value 20.5 --again 20.5 --ends-at 'radiographic apex' --short 1 "
    '--by "initials" --based-on 5,7'
)


def decide(
    folder: CaseFolder,
    canal: OneCanal,
    value: Annotated[float, typer.Option(help="The working length you decided on, mm.")],
    again: Annotated[float, typer.Option(help="The same number, typed once more.")],
    ends_at: Annotated[
        str, typer.Option(help="It ends at: radiographic apex, apical foramen or apical constriction.")
    ],
    short: Annotated[float, typer.Option(help="So far short of that, mm.")],
    by: Annotated[str, typer.Option(help="Who decides: name or initials.")],
    based_on: Annotated[str, typer.Option(help="Numbers of the lengths it rests on: 5,7.")],
    why: Why = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Enter the working length that a person decided on.

    Every part is typed by that person, the number twice. Its number is frozen; a later one says why.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.case_said import say_saved
        from radlength.record.case_decide import decide as enter
        from radlength.record.case_store import load_case, save_case
        from radlength.trade.end_points import Landmark, landmarks

        if value != again:
            raise RecordError(
                f"typed {value:g} mm, and {again:g} mm",
                "the same number twice",
                code="case-typed-twice",
                subject="--again",
            )
        end = cast("Landmark", chosen(ends_at, landmarks(), "--ends-at"))
        case = enter(
            load_case(folder),
            canal,
            value_mm=value,
            landmark=end,
            short_mm=short,
            by=by,
            based_on=numbers(based_on, "--based-on"),
            why=why,
        )
        words = f"{case.canal(canal).label}: decided {value:g} mm by {by}"
        say_saved(case, save_case(case, folder), words, as_json=as_json)
