"""``radlength case add length``: a length that a person states, or the newest one that the record of an image keeps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast, get_args

import typer

from radlength.cli.case_marked import marked_image
from radlength.cli.case_options import CaseFolder, EnteredBy, OneCanal, Why, chosen, image_number, moment
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly
from radlength.errors import RecordError

if TYPE_CHECKING:
    from radlength.finding import Finding
    from radlength.record.case import Case

EXAMPLE = (
    'radlength case add length tooth46 --canal MB --flaring "after flaring" --method "apex locator" --read 21.5 '
    '--mark 0.0 --deduct 0.5 --limit 0.5 --ends-at "apical foramen" --size 15 --moisture moist --stable'
)


def length(
    folder: CaseFolder,
    canal: OneCanal,
    flaring: Annotated[str, typer.Option(help="before flaring, after flaring or not known.")],
    image: Annotated[
        str | None, typer.Option(help="Take the newest result of this image; no --value then.")
    ] = None,
    result: Annotated[
        str, typer.Option(help="Which result of the image: estimate or confirmation.")
    ] = "newest",
    method: Annotated[
        str | None,
        typer.Option(help="apex locator, tactile, paper point, CBCT measured elsewhere, ..."),
    ] = None,
    value: Annotated[float | None, typer.Option(help="The length, mm.")] = None,
    limit: Annotated[float | None, typer.Option(help="It is known to plus or minus this, mm.")] = None,
    ends_at: Annotated[
        str, typer.Option(help="radiographic apex, apical foramen or apical constriction.")
    ] = "",
    short: Annotated[float, typer.Option(help="It ends so far short of that, mm.")] = 0.0,
    read: Annotated[float | None, typer.Option(help="Apex locator: stop to tip at the mark, mm.")] = None,
    mark: Annotated[str, typer.Option(help="Apex locator: the mark that was read.")] = "",
    deduct: Annotated[float, typer.Option(help="Apex locator: what you took off, mm.")] = 0.0,
    size: Annotated[int | None, typer.Option(help="Apex locator: size of the instrument.")] = None,
    moisture: Annotated[str | None, typer.Option(help="Apex locator: moist or dry.")] = None,
    metal: Annotated[
        bool | None, typer.Option("--metal/--no-metal", help="Apex locator: contact with metal.")
    ] = None,
    stable: Annotated[
        bool | None, typer.Option("--stable/--unstable", help="Apex locator: was the reading stable.")
    ] = None,
    ruler: Annotated[str | None, typer.Option(help="Name of the ruler, where others share it.")] = None,
    ruler_limit: Annotated[float, typer.Option(help="Limit of that ruler itself, mm.")] = 0.0,
    rule: Annotated[str | None, typer.Option(help="The rule it follows.")] = None,
    source: Annotated[str | None, typer.Option(help="Who published the rule.")] = None,
    views: Annotated[
        int | None,
        typer.Option(help="Measure in space from this pair of views, by its number; no --value then."),
    ] = None,
    measured: Annotated[str | None, typer.Option(help="When it was measured; now without it.")] = None,
    replaces: Annotated[int | None, typer.Option(help="Number of a length that this one corrects.")] = None,
    why: Why = None,
    who: EnteredBy = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Add a length of a canal: what you measured, or with --image what its record keeps."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.case_said import say_saved
        from radlength.record.case_models import Flaring
        from radlength.record.case_store import load_case, save_case

        case = load_case(folder)
        common: dict[str, Any] = {
            "flaring": cast("Flaring", chosen(flaring, get_args(Flaring), "--flaring")),
            "replaces": replaces,
            "why": why,
            "who": who,
        }
        findings: tuple[Finding, ...] = ()
        if views is not None and value is None and image is None:
            from radlength.cli.case_views import add_length_of_views

            case, findings = add_length_of_views(case, folder, views, canal, common)
        elif image is not None:
            if value is not None or read is not None:
                raise _both()
            shared = {"ruler": ruler, "ruler_limit_mm": ruler_limit}
            case = _of_image(case, folder, image, canal, result, method, common | shared)
        else:
            locator = {
                "mark": mark,
                "read_mm": read,
                "deduction_mm": deduct,
                "file_size": size,
                "moisture": moisture,
                "metal_contact": metal,
                "stable": stable,
            }
            told = {
                "measured": moment(measured, "--measured"),
                "rule": rule,
                "source": source,
                "ruler": ruler,
                "ruler_limit_mm": ruler_limit,
                "views": views,
            }
            case = _stated(case, canal, method, (value, limit), (ends_at, short), locator, common | told)
        written = save_case(case, folder)
        last = case.lengths(case.canal(canal).label)[-1]
        words = f"{last.canal}: {last.length.value_mm:.2f} mm by {last.method}, number {last.number}"
        say_saved(case, written, words, as_json=as_json, findings=findings)


def _both() -> RecordError:
    return RecordError(
        "a value and an image",
        "one of the two: the value of an image comes from its record",
        code="case-value-and-image",
        subject="--image",
    )


def _of_image(
    case: Case,
    folder: Path,
    image: str,
    canal: str,
    result: str,
    method: str | None,
    common: dict[str, Any],
) -> Case:
    from radlength.record.case_lengths import add_length_of_image
    from radlength.record.case_models import LengthMethod
    from radlength.record.store import load_record

    chosen(result, ("newest", "estimate", "confirmation"), "--result")
    number = image_number(case, image)
    path = marked_image(case, folder, number)
    way = None if method is None else cast("LengthMethod", chosen(method, get_args(LengthMethod), "--method"))
    return add_length_of_image(case, canal, load_record(path), number, result=result, method=way, **common)


def _stated(
    case: Case,
    canal: str,
    method: str | None,
    value: tuple[float | None, float | None],
    end: tuple[str, float],
    locator: dict[str, Any],
    common: dict[str, Any],
) -> Case:
    from radlength.record.case_lengths import add_length, locator_length, locator_reading, stated_length
    from radlength.record.case_models import LengthMethod
    from radlength.trade.end_points import Landmark, landmarks

    way = cast("LengthMethod", chosen(method or "", get_args(LengthMethod), "--method"))
    ends_at = cast("Landmark", chosen(end[0], landmarks(), "--ends-at"))
    number, limit = value
    reading = None
    if limit is None:
        raise _missing("--limit", "to how many millimetres the length is known: 0.5")
    ruler_limit = common["ruler_limit_mm"] if common["ruler"] else 0.0
    if way == "apex locator":
        if locator["read_mm"] is None:
            raise _missing("--read", "stop to tip at the mark, in millimetres, and --mark")
        reading = locator_reading(**locator)
        found = locator_length(reading, limit, ruler_limit_mm=ruler_limit)
        short = reading.deduction_mm
    elif number is None:
        raise _missing("--value", "the length in millimetres")
    else:
        found, short = stated_length(number, limit, ruler_limit_mm=ruler_limit), end[1]
    return add_length(
        case, canal, found, method=way, landmark=ends_at, short_mm=short, locator=reading, **common
    )


def _missing(option: str, allowed: str) -> RecordError:
    return RecordError("it is not stated", allowed, code="case-not-stated", subject=option)
