"""``radlength exercise class``: everybody's attempts together, as a page and as a gradebook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted
from radlength.cli.exercise_progress import counting
from radlength.cli.options import Debug, Json
from radlength.cli.outputs import refuse_endings, refuse_replacing, write_whole
from radlength.cli.talk import (
    EXIT_DOMAIN,
    EXIT_FINDING,
    console,
    one_line,
    print_caution,
    print_json,
    said_plainly,
)

if TYPE_CHECKING:
    from radlength.exercise.classroom import ClassResult

EXAMPLE = "radlength exercise class course attempts --answers course.answers.json --html class.html --csv grades.csv"


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of the set.")],
    attempts: Annotated[
        list[Path], typer.Argument(metavar="ATTEMPTS", help="Attempts, or folders of *.attempt.json.")
    ],
    answers: Annotated[
        Path | None, typer.Option(help="The teacher's file. FOLDER.answers.json by default.")
    ] = None,
    html: Annotated[Path | None, typer.Option(help="Where to write the class page.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Where to write the gradebook.")] = None,
    band_mm: Annotated[float, typer.Option(help="Half-width of the band to be kept, mm.")] = 0.5,
    target: Annotated[float, typer.Option(help="Share within the band to be reached, 0 to 1.")] = 0.74,
    keep_until: Annotated[
        str, typer.Option(help="Until when attempts and pages are kept, printed on the page.")
    ] = "",
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit with 3 where an attempt was set aside.")
    ] = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Score a class; attempts that do not count are named, and the rest is scored."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.exercise import load_set, load_truth
        from radlength.exercise.classroom import attempt_files, score_class
        from radlength.exercise.files import SET_FILE, answers_beside, folder_of
        from radlength.exercise.publish import refuse_inside

        exercises = load_set(folder)
        place = answers or answers_beside(folder_of(folder))
        truth = load_truth(place, exercises)
        files = attempt_files(attempts)
        kept = [
            (folder_of(folder) / SET_FILE, "set"),
            (place, "answers"),
            *((file, "attempt") for file in files),
        ]
        outputs = {"page": html, "gradebook": csv}
        refuse_replacing(outputs, kept)
        refuse_endings(outputs)
        for name, output in outputs.items():
            refuse_inside(folder_of(folder), output, f"the {name}")
        with counting("scoring", len(files)) as done:
            found = score_class(exercises, truth, files, band_mm=band_mm, target=target, done=done)
        _write(found, html, csv, keep_until)
        _say(found, html, csv, as_json=as_json)
        if not found.learners:
            raise typer.Exit(EXIT_DOMAIN)
        if strict and found.set_aside:
            raise typer.Exit(EXIT_FINDING)


def _write(found: ClassResult, html: Path | None, csv: Path | None, keep_until: str) -> None:
    for place in (html, csv):
        if place is not None:
            place.parent.mkdir(parents=True, exist_ok=True)
    if html is not None:
        from radlength.exercise.page import class_page

        write_whole(html, class_page(found, keep_until=keep_until))
    if csv is not None:
        from radlength.exercise.gradebook import gradebook_csv

        write_whole(csv, gradebook_csv(found), bom=True)


def _table(found: ClassResult) -> Any:
    from rich.table import Table

    from radlength.exercise.page import share_words, standing_out

    table = Table(
        "code", "verdict", f"marks within ±{found.band_mm:g} mm (95 %)", "mean, mm", "stands out", box=None
    )
    for one in found.learners:
        mean = "–" if one.bias_mm is None else f"{one.bias_mm:+z.2f}"
        table.add_row(one.learner, one.verdict, share_words(one.within), mean, standing_out(one)[0])
    return table


def _say(found: ClassResult, html: Path | None, csv: Path | None, *, as_json: bool) -> None:
    from radlength.exercise.alike import SAME_MARKS
    from radlength.exercise.gradebook import learner_row
    from radlength.exercise.reach import out_of_reach
    from radlength.exercise.texts import SIMULATED

    beyond = out_of_reach(found.exercises, found.target)
    if as_json:
        print_json(
            {
                "set": found.exercises.set,
                "title": found.exercises.title,
                "kind": found.exercises.kind,
                "invented": found.exercises.invented,
                "band_mm": found.band_mm,
                "target": found.target,
                "out_of_reach": beyond or None,
                "learners": [learner_row(one) for one in found.learners],
                "set_aside": [
                    {"file": one.file, "code": one.code, "reason": one.reason} for one in found.set_aside
                ],
                "alike": [list(codes) for codes in found.alike],
                "html": str(html) if html else None,
                "csv": str(csv) if csv else None,
            }
        )
        return
    shown = console()
    left = counted(len(found.set_aside), "attempt")
    shown.print(f"scored: {counted(len(found.learners), 'learner')}; set aside: {left}")
    shown.print(_table(found))
    if beyond:
        shown.print(beyond, soft_wrap=True)
    for codes in found.alike:
        shown.print(f"  {SAME_MARKS}: {', '.join(codes)}", soft_wrap=True)
    for aside in found.set_aside:
        shown.print(f"  set aside: {one_line(aside.file)}: {one_line(aside.reason)}", soft_wrap=True)
    for name, place in (("page", html), ("gradebook", csv)):
        if place is not None:
            shown.print(f"{name} written: {place}", soft_wrap=True)
    if found.exercises.invented:
        shown.print(SIMULATED)
    print_caution(shown)
