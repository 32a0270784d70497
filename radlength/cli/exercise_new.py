"""``radlength exercise new``: make a set for learners, and the file of answers that stays with the teacher."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted
from radlength.cli.exercise_progress import counting, ending_at_once
from radlength.cli.options import Debug, Json
from radlength.cli.outputs import refuse_endings, refuse_file_name
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.exercise import Made
    from radlength.exercise.models import Aim

OTHER_SET = (
    "This is not the set of the answers that the secret was read from: title, number, options or the version of "
    "radlength differ. Attempts at that set are scored with its own folder and answers."
)
EXAMPLE = "radlength exercise new course"


def run(
    out: Annotated[Path, typer.Argument(metavar="FOLDER", help="A new or empty folder for the learners.")],
    answers: Annotated[
        Path | None,
        typer.Option(help="File for the teacher. FOLDER.answers.json by default, never inside FOLDER."),
    ] = None,
    assessment: Annotated[
        int | None,
        typer.Option(metavar="N", help="N exercises drawn from a secret, in place of the built-in course."),
    ] = None,
    images: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Real images, each with a teacher's NAME.marks.json beside it."),
    ] = None,
    secret_file: Annotated[
        Path | None,
        typer.Option(help="Hexadecimal secret of an assessment, or its answers, to make the same set again."),
    ] = None,
    aim: Annotated[
        list[str] | None,
        typer.Option(
            help="What is asked: reference, trace, apex, confirm or view; may come again. All by default, "
            "trace for real images."
        ),
    ] = None,
    title: Annotated[str | None, typer.Option(help="Title the learners see.")] = None,
    rule: Annotated[
        str, typer.Option(help="Rule for accepting a length; a wrong name lists them.")
    ] = "tip within 1 mm",
    repeats: Annotated[
        int, typer.Option(help="Exercises that come again in disguise, simulated ones at another size.")
    ] = 3,
    pitch_mm: Annotated[
        float | None, typer.Option(help="Pixel pitch of simulated images, mm; 0.03 by default.")
    ] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Make exercises: the built-in course, an assessment from a secret, or real images a teacher has marked."""
    _check_usage(assessment, images, secret_file, aim, pitch_mm)
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.exercise.files import answers_beside
        from radlength.exercise.levels import PITCH_MM
        from radlength.exercise.publish import check_places, publish

        place = answers or answers_beside(out)
        check_places(out, place)
        refuse_file_name(out, "exercises")
        refuse_endings({"answers": answers})
        if images is not None:
            made = _real(images, title, rule, repeats, _aims(aim) or ("trace",))
        else:
            pitch = PITCH_MM if pitch_mm is None else pitch_mm
            made = _simulated(assessment, secret_file, title, rule, repeats, pitch, _aims(aim))
        publish(made, out, place)
        _say(made, out, place, repeats, same=_as_before(made, secret_file), as_json=as_json)


def _check_usage(
    assessment: int | None,
    images: Path | None,
    secret_file: Path | None,
    aim: list[str] | None,
    pitch_mm: float | None,
) -> None:
    """Refuse options of which one says nothing beside the other."""
    if assessment is not None and images is not None:
        raise typer.BadParameter("--assessment or --images, not both")
    if images is not None and len(aim or ()) > 1:
        raise typer.BadParameter("one --aim with --images")
    if secret_file is not None and assessment is None:
        raise typer.BadParameter("--secret-file goes with --assessment: nothing else is drawn from a secret")
    if pitch_mm is not None and images is not None:
        raise typer.BadParameter("--pitch-mm is of simulated images: real ones keep theirs")


def _simulated(
    count: int | None,
    secret_file: Path | None,
    title: str | None,
    rule: str,
    repeats: int,
    pitch_mm: float,
    aims: tuple[Aim, ...],
) -> Made:
    from radlength.exercise import assessment_items, build_set, course_items, new_secret
    from radlength.exercise.course import TITLE, set_title
    from radlength.exercise.levels import shape_for
    from radlength.exercise.models import AIMS
    from radlength.trade import repeat_rule

    named = repeat_rule(rule).name
    more: dict[str, Any] = {"rule": named, "pitch_mm": pitch_mm, "shape_px": shape_for(pitch_mm)}
    if count is None:
        items = tuple(item for item in course_items() if not aims or item.aim in aims)
        told: dict[str, Any] = {
            "title": title or set_title(TITLE, len(items), repeats),
            "kind": "self-study",
            "secret": None,
        }
    else:
        secret = _secret(secret_file) or new_secret()
        items = assessment_items(secret, count, aims=aims or AIMS)
        told = {
            "title": title or set_title("Assessment", len(items), repeats),
            "kind": "assessment",
            "secret": secret,
        }
    more |= {"repeats": repeats, "workers": os.cpu_count() or 1}
    with counting("drawing images", len(items)) as done, ending_at_once() as started:
        return build_set(items, started=started, done=done, **told, **more)


def _aims(named: list[str] | None) -> tuple[Aim, ...]:
    from radlength.exercise import ExerciseError
    from radlength.exercise.models import AIMS

    found = tuple(aim for aim in AIMS if aim in (named or ()))
    unknown = set(named or ()) - set(AIMS)
    if unknown:
        raise ExerciseError(f"an aim {min(unknown)!r}", ", ".join(AIMS), code="exercise-aim")
    return found


def _secret(file: Path | None) -> str | None:
    """Return the secret in a file: alone in it, or in the teacher's file of an earlier assessment."""
    from radlength.exercise.chance import check_secret
    from radlength.exercise.files import secret_of

    if file is None:
        return None
    text = file.read_text(encoding="utf-8", errors="replace").strip()
    return check_secret(secret_of(file) if text.startswith("{") else text)


def _as_before(made: Made, file: Path | None) -> bool | None:
    """Tell whether a set is the one whose answers the secret was taken from; ``None`` where it was taken from none."""
    before = file.read_bytes() if file is not None else b""
    return made.truth == before if before.lstrip().startswith(b"{") else None


def _real(images: Path, title: str | None, rule: str, repeats: int, aims: tuple[Aim, ...]) -> Made:
    from radlength.cli.marks_file import record_from_marks
    from radlength.exercise.real import find_images, real_set

    found = find_images(images, record_from_marks)
    with counting("reading images", len(found)) as done:
        return real_set(
            found,
            aim=aims[0],
            title=title or counted(len(found), "marked image"),
            rule=rule,
            repeats=repeats,
            done=done,
        )


def _say(made: Made, out: Path, place: Path, repeats: int, *, same: bool | None, as_json: bool) -> None:
    from radlength.exercise.learner import TARGET
    from radlength.exercise.reach import out_of_reach
    from radlength.exercise.texts import SIMULATED

    exercises = made.exercises
    beyond = out_of_reach(exercises, TARGET)
    told = {
        "set": exercises.set,
        "title": exercises.title,
        "kind": exercises.kind,
        "invented": exercises.invented,
        "exercises": len(exercises.tasks),
        "repeats": repeats,
        "folder": str(out),
        "answers": str(place),
        "out_of_reach": beyond or None,
        "same_set": same,
    }
    if as_json:
        print_json(told)
        return
    shown = console()
    shown.print(f"{exercises.title}: {counted(len(exercises.tasks), 'image')} in {out}", soft_wrap=True)
    if repeats:
        different = counted(len(exercises.tasks) - repeats, "different exercise")
        shown.print(f"{different}, {repeats} of them a second time in disguise.")
    shown.print(f"Give learners the folder {out}. Keep {place}: it holds every answer.", soft_wrap=True)
    if beyond:
        shown.print(beyond, soft_wrap=True)
    if same is False:
        shown.print(OTHER_SET, soft_wrap=True)
    if exercises.invented:
        shown.print(SIMULATED)
    if exercises.kind == "self-study":
        shown.print("The course is made from public seeds: for learning, not for marks.")
    if exercises.kind == "real images":
        shown.print(
            "Look at every picture before you give it away: a name burned into the pixels is never removed."
        )
    print_caution(shown)
