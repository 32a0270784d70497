"""``radlength case add``: images, canals, reference points, notes and pairs of views. Lengths: ``case_length``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast, get_args

import typer

from radlength.cli.case_options import CaseFolder, EnteredBy, OneCanal, chosen, day, image_number
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly

if TYPE_CHECKING:
    from radlength.record.case import Case

EXAMPLE = 'radlength case add canal tooth46 --tooth 46 --canal MB --reference-point "mesiobuccal cusp"'
IMAGE_EXAMPLE = 'radlength case add image tooth46 pre.png --stage "pre-operative" --taken 2026-01-02'
POINT_EXAMPLE = (
    'radlength case add reference-point tooth46 --canal MB --words "reduced cusp" --why "cusp reduced"'
)
NOTE_EXAMPLE = 'radlength case add note tooth46 --canal MB --state joins --other "46 ML"'
VIEWS_EXAMPLE = "radlength case add views tooth46 pre.png shifted.png --shift mesial --shift-deg 20"


def commands() -> typer.Typer:
    """Return the group with its commands."""
    from radlength.cli import case_length
    from radlength.cli.case_said import told

    group = typer.Typer(no_args_is_help=True, help="Add to a case. Nothing that is in it is changed.")
    group.command("image", epilog=told(IMAGE_EXAMPLE))(image)
    group.command("canal", epilog=told(EXAMPLE))(canal)
    group.command("reference-point", epilog=told(POINT_EXAMPLE))(reference_point)
    group.command("note", epilog=told(NOTE_EXAMPLE))(note)
    group.command("views", epilog=told(VIEWS_EXAMPLE))(views)
    group.command("length", epilog=told(case_length.EXAMPLE))(case_length.length)
    return group


def _saved(case: Case, folder: Path, what: str, *, as_json: bool) -> None:
    from radlength.cli.case_said import say_saved
    from radlength.record.case_store import save_case

    say_saved(case, save_case(case, folder), what, as_json=as_json)


def image(
    folder: CaseFolder,
    file: Annotated[Path, typer.Argument(metavar="IMAGE", help="Image in the folder, path from there.")],
    stage: Annotated[
        str, typer.Option(help="pre-operative, working length, master cone, filling, review or other.")
    ] = "",
    taken: Annotated[str, typer.Option(help="The day it was taken: 2026-01-02.")] = "",
    view: Annotated[str, typer.Option(help="The view in words.")] = "straight",
    label: Annotated[str, typer.Option(help="A label of your own; needed with --stage other.")] = "",
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Add an image, or add it again after it was marked: bound by the hash of its file and of its record."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_images import STAGES, add_image
        from radlength.record.case_store import load_case

        case = load_case(folder)
        when = day(taken, "--taken")
        place = file.resolve() if not (folder / file).exists() and file.exists() else file
        chosen(stage, STAGES, "--stage")
        case = add_image(case, folder, place, stage=stage, taken=when, view=view, label=label, who=who)
        _saved(case, folder, f"image {file.name} added as {stage}", as_json=as_json)


def canal(
    folder: CaseFolder,
    tooth: Annotated[str, typer.Option(help="ISO 3950; for a supernumerary tooth its neighbour.")],
    canal: Annotated[str, typer.Option(help="Name of the canal: MB, MB2, D, single.")],
    reference_point: Annotated[str, typer.Option(help="Where every length begins: mesiobuccal cusp.")],
    supernumerary: Annotated[bool, typer.Option("--supernumerary", help="One more tooth beside it.")] = False,
    image: Annotated[str | None, typer.Option(help="Image on which --point is.")] = None,
    point: Annotated[str | None, typer.Option(help='The reference point on it, "row,column".')] = None,
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Add a canal with its reference point."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_canals import add_canal
        from radlength.record.case_store import load_case

        case = load_case(folder)
        place = _place(case, image, point)
        case = add_canal(
            case,
            tooth,
            canal,
            reference_point=reference_point,
            supernumerary=supernumerary,
            who=who,
            **place,
        )
        _saved(case, folder, f"canal {case.canals[-1].label} added", as_json=as_json)


def _place(case: Case, image: str | None, point: str | None) -> dict[str, Any]:
    from radlength.cli.points import parse_point

    number = None if image is None else image_number(case, image)
    place = None if point is None else parse_point(point, subject="--point")
    return {"image": number, "point_px": place}


def reference_point(
    folder: CaseFolder,
    canal: Annotated[list[str], typer.Option(help="A canal; again for each one that begins there.")],
    words: Annotated[str, typer.Option(help="The present reference point in words.")],
    why: Annotated[str, typer.Option(help="Why it changed: cusp reduced, restoration lost.")],
    image: Annotated[str | None, typer.Option(help="Image on which --point is.")] = None,
    point: Annotated[str | None, typer.Option(help='The reference point on it, "row,column".')] = None,
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Begin a new series: the reference point changed, lengths before it are compared no more."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_canals import new_reference_point
        from radlength.record.case_store import load_case

        case = load_case(folder)
        place = _place(case, image, point)
        for one in canal:
            case = new_reference_point(case, one, words, why=why, who=who, **place)
        _saved(case, folder, f"new series for {', '.join(canal)}: {words}", as_json=as_json)


def note(
    folder: CaseFolder,
    canal: OneCanal,
    state: Annotated[str, typer.Option(help="joins, splits, C-shape, open apex, ledge, ...")],
    other: Annotated[str | None, typer.Option(help="The canal it joins or splits from.")] = None,
    words: Annotated[str, typer.Option(help="In words.")] = "",
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Note something of a canal that a length alone does not say."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_canals import note_canal
        from radlength.record.case_models import CanalState
        from radlength.record.case_store import load_case

        said = cast("CanalState", chosen(state, get_args(CanalState), "--state"))
        case = note_canal(load_case(folder), canal, said, other=other, words=words, who=who)
        _saved(case, folder, f"{canal}: {state}", as_json=as_json)


def views(
    folder: CaseFolder,
    straight: Annotated[str, typer.Argument(help="Image with the tube straight: path or number.")],
    shifted: Annotated[str, typer.Argument(help="Image with the tube shifted.")],
    shift: Annotated[str, typer.Option(help="Where the tube went: mesial, distal, left or right.")],
    shift_deg: Annotated[float | None, typer.Option(help="How far, in degrees, where it is known.")] = None,
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Say that two images are two views of one tooth; measure them with radlength views."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_images import add_views
        from radlength.record.case_models import Shift
        from radlength.record.case_store import load_case

        case = load_case(folder)
        went = cast("Shift", chosen(shift, get_args(Shift), "--shift"))
        pair = image_number(case, straight), image_number(case, shifted)
        case = add_views(case, *pair, shift=went, angle_deg=shift_deg, who=who)
        _saved(case, folder, "two views linked", as_json=as_json)
