"""``radlength trace``: propose a canal or an instrument between clicks, and keep it where that is asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Strict, Who
from radlength.cli.points import parse_points, refuse_swapped
from radlength.cli.talk import console, exit_for, print_caution, print_findings, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.session import Proposal, Session

EXAMPLE = 'radlength trace tooth.png --through "80,410 500,431 960,455" --tooth 46 --canal MB'


def trace(
    image: ImageArgument,
    through: Annotated[
        str | None,
        typer.Option(
            help='Clicks, "row,column ...": reference point first, apex last; of an instrument stop and tip. '
            "Without it, the clicks that the record has."
        ),
    ] = None,
    tooth: Annotated[str | None, typer.Option(help="ISO 3950 number, two digits.")] = None,
    canal: Annotated[str | None, typer.Option(help="Name of the canal: MB, D, single ...")] = None,
    instrument: Annotated[
        bool, typer.Option("--instrument", help="Look for the reference instrument of the canal instead.")
    ] = False,
    length: Annotated[
        float | None,
        typer.Option("--length", "--reference-length", help="With --instrument: its real length, mm."),
    ] = None,
    limit: Annotated[
        float | None,
        typer.Option(
            "--limit",
            "--reference-limit",
            help="With --instrument: its length is known to plus or minus this, mm.",
        ),
    ] = None,
    inverted: Annotated[
        bool,
        typer.Option(
            "--inverted",
            help="In this file bone and metal are dark and canals bright, and no header says so.",
        ),
    ] = False,
    accept: Annotated[bool, typer.Option("--accept", help="Keep it in the record.")] = False,
    who: Who = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Propose the course of a canal between clicks. Nothing is kept without --accept.

    The clicks stay where they are; the points between them are the program's, and the record says so.
    """
    if (tooth is None) != (canal is None):
        raise typer.BadParameter("--tooth and --canal go together")
    if not instrument and (length is not None or limit is not None):
        raise typer.BadParameter("--length and --limit are of an instrument: they need --instrument")
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.own_instrument import take_instrument
        from radlength.session import Session

        session = Session.open(image, records_dir=records)
        if inverted:
            session.say_inverted(True)
        _choose(session, tooth, canal)
        if instrument:
            take_instrument(session)
            _state_length(session, length, limit)
        clicks = _clicks(session, through, instrument=instrument)
        found = session.propose("reference" if instrument else "canal", clicks)
        written = _kept(session, who) if accept else None
        _tell(session, found, written, inverted=inverted, as_json=as_json)
    exit_for(found.findings, strict=strict)


def _clicks(session: Session, through: str | None, *, instrument: bool) -> list[tuple[float, float]] | None:
    """Return the clicks that are typed, ``None`` for those of the record.

    Raises
    ------
    MarkError
        Neither is there.
    """
    from radlength.errors import MarkError

    if through is not None:
        clicks = parse_points(through, subject="--through")
        refuse_swapped(clicks, session.radiograph.shape, subject="--through")
        return clicks
    marks = session.annotation
    if not (marks.reference if instrument else marks.canal).path_px:
        raise MarkError(
            "nothing is clicked yet",
            "two clicks or more",
            'give them: --through "ROW,COLUMN ... ROW,COLUMN"',
            code="trace-no-clicks",
            subject=session.radiograph.name,
        )
    return None


def _choose(session: Session, tooth: str | None, canal: str | None) -> None:
    """Make the canal current; an empty session's only canal takes the name, a new one is added."""
    from radlength.cli.own_instrument import measure_by_own
    from radlength.trade import check_tooth

    if tooth is None or canal is None:
        return
    check_tooth(tooth)
    marks = session.annotation
    labels = [draft.label for draft in marks.canals]
    if f"{tooth} {canal}" in labels:
        session.select(labels.index(f"{tooth} {canal}"))
    elif len(labels) == 1 and not marks.canal.path_px:
        session.apply(session.with_canal(tooth=tooth, name=canal))
        measure_by_own(session)
    else:
        session.add_canal(tooth, canal)
        measure_by_own(session)


def _state_length(session: Session, length: float | None, limit: float | None) -> None:
    given = {"length_mm": length, "limit_mm": limit}
    stated = {name: value for name, value in given.items() if value is not None}
    session.apply(session.with_reference(**stated))


def _kept(session: Session, who: str | None) -> Path:
    from radlength.errors import ScaleError

    proposed = session.proposal
    if (
        proposed is not None
        and proposed.what == "reference"
        and session.annotation.reference.length_mm is None
    ):
        raise ScaleError(
            "an instrument of unknown length",
            "its length from stop to tip in mm",
            "give --length",
            code="reference-length",
        )
    session.accept()
    return session.save(who=who)


def _tell(session: Session, found: Proposal, written: Path | None, *, inverted: bool, as_json: bool) -> None:
    if as_json:
        print_json(_data(session, found, written) | {"inverted": inverted})
        return
    out = console()
    placed = sum(one.count for one in found.assists)
    label = session.annotation.canal.label
    said = " of an inverted image" if inverted else ""
    out.print(f"{label}: {found.method} {found.version}{said} through {len(found.clicks_px)} clicks")
    out.print(f"path, {placed} of {len(found.path_px)} points by the program (*):")
    mine = {n for one in found.assists for n in range(one.first, one.last + 1)}
    words = [f"{row:g},{column:g}{'*' * (n in mine)}" for n, (row, column) in enumerate(found.path_px)]
    out.print("  ".join(words))
    out.print(f"confidence of each stretch: {', '.join(f'{part:.2f}' for part in found.confidence)}")
    if not found.trusted:
        out.print("Not trusted: place it by hand, or look closely.")
    print_findings(out, found.findings)
    if written is None:
        out.print("nothing is kept; add --accept to keep it")
    else:
        out.print(f"record written: {written}", soft_wrap=True)
    print_caution(out)


def _data(session: Session, found: Proposal, written: Path | None) -> dict[str, Any]:
    return {
        "canal": session.annotation.canal.label,
        "what": found.what,
        "path_px": [list(point) for point in found.path_px],
        "clicks_px": [list(point) for point in found.clicks_px],
        "assists": [
            {"first": one.first, "last": one.last, "confidence": round(one.confidence, 3)}
            for one in found.assists
        ],
        "method": found.method,
        "version": found.version,
        "confidence": [round(part, 3) for part in found.confidence],
        "trusted": found.trusted,
        "findings": [finding.as_dict() for finding in found.findings],
        "record": None if written is None else str(written),
    }
