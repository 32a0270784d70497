"""``radlength exercise score``: feedback on one attempt."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.exercise_progress import counting
from radlength.cli.options import Debug, Json
from radlength.cli.outputs import refuse_file_name
from radlength.cli.talk import console, one_line, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.exercise.feedback import Feedback

EXAMPLE = (
    "radlength exercise score course A07.attempt.json --answers course.answers.json --pictures A07-pictures"
)


def run(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of the set.")],
    attempt: Annotated[Path, typer.Argument(metavar="ATTEMPT", help="An attempt; it may be half-finished.")],
    answers: Annotated[
        Path | None, typer.Option(help="The teacher's file. FOLDER.answers.json by default.")
    ] = None,
    pictures: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Write each image with the truth over the marks: CODE.NUMBER.feedback.png."
        ),
    ] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Say after each exercise how far off it was and why, and what the whole attempt shows."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.exercise import load_attempt, load_set, load_truth
        from radlength.exercise.feedback import give_feedback
        from radlength.exercise.files import answers_beside, folder_of
        from radlength.exercise.publish import refuse_inside

        exercises, folder = load_set(folder), folder_of(folder)
        refuse_file_name(pictures, "pictures")
        refuse_inside(folder, pictures, "the pictures with the answers")
        truth = load_truth(answers or answers_beside(folder), exercises)
        told = give_feedback(exercises, truth, load_attempt(attempt))
        if pictures is not None:
            _draw(told, folder, pictures)
        if as_json:
            print_json(told.as_dict())
            return
        _say(told)


def _draw(told: Feedback, folder: Path, pictures: Path) -> None:
    from radlength.exercise.picture import write_feedback_picture

    drawn = [one for one in told.exercises if one.drawable]
    with counting("drawing pictures", len(drawn)) as done:
        for one in drawn:
            write_feedback_picture(one, folder, pictures, learner=told.summary.learner)
            done()


def _say(told: Feedback) -> None:
    shown: Any = console()
    for one in told.exercises:
        shown.print(f"{one.result.task}  {one_line(one.heading)}")
        for line in one.lines:
            shown.print(f"    {one_line(line)}")
    shown.print("\nPublished beside it:")
    for figure in dict.fromkeys(figure for one in told.exercises for figure in one.published):
        shown.print(f"    {one_line(figure)}")
    shown.print()
    for line in told.lines:
        shown.print(one_line(line))
    print_caution(shown)
