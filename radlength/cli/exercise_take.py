"""``radlength exercise take``: what a set asks, and an attempt from files of marks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from radlength.cli.options import Debug, Json, Strict
from radlength.cli.outputs import refuse_endings
from radlength.cli.talk import console, exit_for, print_caution, print_findings, print_json, said_plainly

if TYPE_CHECKING:
    from rich.console import Console

    from radlength.exercise import ExerciseSet

EXAMPLE = "radlength exercise take course --learner A07 --marks my-marks --out A07.attempt.json"


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of the set.")],
    learner: Annotated[str | None, typer.Option(help="Your code, never your name.")] = None,
    marks: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="NUMBER.marks.json files. FOLDER by default, with what the window saved."
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="File of the attempt. CODE.attempt.json by default.")
    ] = None,
    strict: Strict = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Collect your marks into one attempt; without --learner say what the set asks."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.exercise import collect_attempt, load_set, save_attempt
        from radlength.exercise.files import folder_of, refuse_losing

        exercises, folder = load_set(folder), folder_of(folder)
        if learner is None:
            _ask(exercises, as_json=as_json)
            return
        attempt, findings = collect_attempt(exercises, folder, learner, marks or folder)
        place = out or Path(f"{learner}.attempt.json")
        refuse_losing(place, attempt)
        refuse_endings({"attempt": out})
        save_attempt(attempt, place)
        told = {
            "attempt": str(place),
            "answered": len(attempt.answers),
            "exercises": len(exercises.tasks),
            "finished": attempt.finished,
            "invented": exercises.invented,
            "findings": [finding.as_dict() for finding in findings],
        }
        if as_json:
            print_json(told)
        else:
            shown = console()
            shown.print(
                f"{len(attempt.answers)} of {len(exercises.tasks)} exercises in {place}", soft_wrap=True
            )
            print_findings(shown, findings)
            _say_invented(shown, exercises)
            print_caution(shown)
        exit_for(findings, strict=strict)


def _ask(exercises: ExerciseSet, *, as_json: bool) -> None:
    if as_json:
        print_json(exercises.model_dump(mode="json"))
        return
    from radlength.cli.talk import one_line

    shown = console()
    shown.print(one_line(exercises.title))
    shown.print(one_line(exercises.how))
    for task in exercises.tasks:
        shown.print(f"\n{task.id}  {task.image}  tooth {one_line(task.tooth)}, canal {one_line(task.canal)}")
        shown.print(f"    {one_line(task.text)}")
        if task.choices:
            shown.print(f"    choices: {', '.join(map(one_line, task.choices))}")
    _say_invented(shown, exercises)
    print_caution(shown)


def _say_invented(shown: Console, exercises: ExerciseSet) -> None:
    from radlength.exercise.texts import SIMULATED

    if exercises.invented:
        shown.print(f"\n{SIMULATED}")
