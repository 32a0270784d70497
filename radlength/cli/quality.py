"""``radlength quality``: what can be computed of an image's quality, and the audit of grades that people gave."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted, typed
from radlength.cli.options import Debug, Json, Records, Strict
from radlength.cli.points import parse_points, refuse_outside
from radlength.cli.talk import console, exit_for, print_caution, print_json, said_plainly, waiting

if TYPE_CHECKING:
    from radlength.record.quality import ImageQuality

EXAMPLE = "radlength quality tooth.png"


def quality(
    target: Annotated[
        Path | None, typer.Argument(metavar="IMAGE|FOLDER", help="An image, or a folder of images.")
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv", metavar="FILE", help="Write the table of the images; a person fills result and by."
        ),
    ] = None,
    read_grades: Annotated[
        Path | None,
        typer.Option(
            "--read-grades", metavar="FILE", help="Audit the grades that people typed into such a table."
        ),
    ] = None,
    film: Annotated[bool, typer.Option("--film", help="The audit is of film: its target is 90 %.")] = False,
    edge: Annotated[
        str | None,
        typer.Option(
            help='Two points on a straight, slightly slanted edge, pixels: "row,column row,column".'
        ),
    ] = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Measure image quality: field, clipping, depth, sharpness, noise, contrast, bending, cone cut, editing.

    Nothing is graded: whether an image is acceptable is a person's to say.
    """
    with said_plainly(as_json=as_json, debug=debug):
        if read_grades is not None:
            _audit(read_grades, film=film, as_json=as_json)
        elif target is None:
            raise _nothing_named()
        elif target.is_dir() or csv is not None:
            _folder(target, csv, records, as_json=as_json)
        else:
            _image(target, edge, records, as_json=as_json, strict=strict)


def _nothing_named() -> Exception:
    from radlength.errors import ImageError

    return ImageError("no image is named", "an image, a folder, or --read-grades FILE", code="image-none")


def _image(image: Path, edge: str | None, records: Path | None, *, as_json: bool, strict: bool) -> None:
    from radlength.cli.quality_table import print_quality

    found = _measured(image, edge, records)
    if as_json:
        print_json(found.as_dict())
    else:
        out = console()
        print_quality(out, found)
        print_caution(out)
    exit_for(found.findings, strict=strict)


def _measured(image: Path, edge: str | None, records: Path | None) -> ImageQuality:
    from radlength.imaging import read_radiograph
    from radlength.record.quality_table import measured_quality

    if edge is None:
        return measured_quality(image, records)[1]
    edge_px = parse_points(edge, subject="--edge")
    refuse_outside(edge_px, read_radiograph(image).shape, subject="--edge")
    return measured_quality(image, records, edge_px=edge_px)[1]


def _folder(target: Path, csv: Path | None, records: Path | None, *, as_json: bool) -> None:
    from radlength.cli.quality_table import NOT_DECIDED
    from radlength.cli.talk import one_line
    from radlength.record.quality_table import images_in, table_row, table_text, write_table

    with waiting("measuring"):
        rows = [table_row(image, records) for image in (images_in(target) if target.is_dir() else (target,))]
    if csv is not None:
        write_table(csv, table_text(rows))
    if as_json:
        data: dict[str, Any] = {"images": rows, "table": csv.name if csv else None}
        print_json(data)
        return
    out = console()
    for row in rows:
        out.print(one_line(f"{row['image']}: {row.get('problem') or row['doubts'] or 'no doubt'}"))
    if csv is not None:
        out.print(
            f"Wrote {one_line(str(csv))}. Fill result (A or N) and by, then: "
            f"radlength quality --read-grades {one_line(typed(csv))}",
            soft_wrap=True,
        )
    out.print(f"{counted(len(rows), 'image')}. {NOT_DECIDED}")
    print_caution(out)


def _audit(path: Path, *, film: bool, as_json: bool) -> None:
    from radlength.cli.quality_table import print_audit
    from radlength.record.quality_audit import audit
    from radlength.record.quality_grades import read_grades

    grades = read_grades(path)
    found = audit(grades.graded, receptor="film" if film else "digital")
    if as_json:
        print_json({**found.as_dict(), "ungraded": list(grades.ungraded)})
        return
    out = console()
    print_audit(out, found, ungraded=len(grades.ungraded))
    print_caution(out)
