"""``radlength views``: measure the canals of a tooth in space, from a straight and a shifted image."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.marker_file import Marker, read_marker
from radlength.cli.options import Canals, Debug, ImageArgument, Json, Records, Rounding, Strict
from radlength.cli.records import open_marked
from radlength.cli.talk import (
    console,
    exit_for,
    print_caution,
    print_findings,
    print_json,
    said_plainly,
    waiting,
)

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.length.two_views import MarkedView, TwoViewEstimate
    from radlength.quantity import Direction
    from radlength.record import Record

EXAMPLE = "radlength views straight.png shifted.png --shift mesial --shift-deg 20"


class Shift(StrEnum):
    """Where the tube went for the second image."""

    mesial = "mesial"
    distal = "distal"
    left = "left"
    right = "right"


def views(
    image: ImageArgument,
    second: Annotated[Path, typer.Argument(metavar="SECOND", help="The image with the tube shifted.")],
    shift: Annotated[
        Shift,
        typer.Option(help="Where the tube went for SECOND: to a side of the tooth, or of the picture."),
    ],
    shift_deg: Annotated[float | None, typer.Option(help="How far, in degrees, where it is known.")] = None,
    shift_sd: Annotated[float, typer.Option(help="Standard uncertainty of --shift-deg, degrees.")] = 5.0,
    marker: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="JSON: shape of a marker that is not flat, and its points on both."
        ),
    ] = None,
    canal: Canals = None,
    rounding: Annotated[
        Rounding | None, typer.Option("--round", help="Also the stop setting, to 0.5 mm in that direction.")
    ] = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Measure canals in space from two marked images: length, side, and the bend along the beam.

    Both images are marked: the same canals, the same instrument of known length in one of them, and the pixel pitch
    known. The direction of the shift is believed: the images alone do not tell it.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.length.two_views import estimate_two_views

        known = read_marker(marker) if marker else Marker()
        pair = [open_marked(path, records) for path in (image, second)]
        recorded = [record for record, _ in pair]
        with waiting("solving both images"):
            found = estimate_two_views(
                marked_view(*pair[0], canal, known.straight_px),
                marked_view(*pair[1], canal, known.shifted_px),
                shift=shift.value,
                angle_deg=shift_deg,
                u_angle_deg=shift_sd,
                marker_mm=known.shape_mm,
            )
        findings = [*pair[0][1].findings, *pair[1][1].findings]
        direction: Direction | None = rounding.value if rounding else None
        if as_json:
            _as_json((image, second), recorded, found, [f.as_dict() for f in findings], direction)
        else:
            out = console()
            print_findings(out, findings)
            _print(out, recorded, found, direction)
            print_caution(out)
        exit_for(found.findings, strict=strict)


def marked_view(
    record: Record, radiograph: Radiograph, canal: str | None, marker: tuple[tuple[float, float], ...]
) -> MarkedView:
    """Return an image with everything marked on it, as the solver of two views takes it.

    Raises
    ------
    RecordError
        The record belongs to other pixels, or no canal is marked.
    """
    from radlength.errors import RecordError
    from radlength.length.two_views import MarkedView
    from radlength.record import check_binding, stated_radiograph

    check_binding(record, radiograph)
    entries = [record.entry(canal)] if canal is not None else list(record.canals)
    if not entries:
        raise RecordError(
            "no canal is marked",
            remedy="mark one: radlength mark --help",
            code="canal-none",
            subject=radiograph.name,
        )
    references = {entry.canal.name: record.reference_of(entry) for entry in entries}
    return MarkedView(
        radiograph=stated_radiograph(record, radiograph),
        canals=tuple(entry.canal for entry in entries),
        references={name: reference for name, reference in references.items() if reference is not None},
        termini={entry.canal.name: entry.terminus for entry in entries if entry.terminus is not None},
        marking=record.marking,
        marker_px=marker,
    )


def _as_json(
    images: tuple[Path, Path],
    records: list[Record],
    found: TwoViewEstimate,
    findings: list[dict[str, str | None]],
    direction: Direction | None,
) -> None:
    from radlength.report.words import joint_status

    data: dict[str, Any] = found.as_dict()
    if direction:
        for told, one in zip(data["canals"], found.canals, strict=True):
            told["stop_setting_mm"] = one.stop_setting_mm(direction=direction)
            told["rounding"] = direction
    names = [path.name for path in images]
    status, invented = joint_status(*records)
    said = {"image_findings": findings, "status": status, "invented": invented}
    print_json({"images": names, **data, **said})


def _print(out: Any, records: list[Record], found: TwoViewEstimate, direction: Direction | None) -> None:
    from radlength.cli.view_tables import print_views
    from radlength.report.words import status_words

    print_views(out, found, direction=direction, status=status_words(*records))
