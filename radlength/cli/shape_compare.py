"""``radlength shape compare``: one canal on two images of one view, before and after."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Canals, Debug, ImageArgument, Json, Records, Strict
from radlength.cli.outputs import image_and_record, refuse_endings, refuse_replacing, write_whole
from radlength.cli.shape_given import levels_of, limited, named_paths, one_entry
from radlength.cli.talk import console, exit_for, print_caution, print_json, said_plainly, waiting

if TYPE_CHECKING:
    from radlength.shape.compare import Comparison, Side

EXAMPLE = "radlength shape compare before.png after.png --levels 1,2,3,5,7 --png compared.png"


class Shown(StrEnum):
    """What the two images are."""

    radiograph = "radiograph"
    block = "block"


def compare(
    image: ImageArgument,
    second: Annotated[Path, typer.Argument(metavar="AFTER", help="The same view afterwards, marked too.")],
    kind: Annotated[
        Shown,
        typer.Option(help="Two radiographs, or two photographs of a block: the camera may lean a little."),
    ] = Shown.radiograph,
    levels: Annotated[
        str, typer.Option(help="Distances from the apical end in mm, with commas between.")
    ] = "1,2,3,5,7,9",
    wall: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME:PATH", help="A wall of the canal on the first image. Twice, or not at all."
        ),
    ] = None,
    second_wall: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME:PATH", help="A wall on the second image. Twice, or not at all."),
    ] = None,
    limit_px: Annotated[
        float, typer.Option("--limit-px", help="Refuse a larger residual of the registration, in pixels.")
    ] = 1.0,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the draws behind the intervals.")] = 0,
    png: Annotated[Path | None, typer.Option(help="Where to write the picture.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Where to write the table.")] = None,
    html: Annotated[Path | None, typer.Option(help="Pictures, table and findings as one HTML page.")] = None,
    canal: Canals = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Lay two images of one view on each other: transportation, centring, straightening, change of length.

    Refused where the view has changed: then nothing can be told. The walls are found unless they are given.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.report.words import joint_status, status_words
        from radlength.shape.compare import compare_canal

        limited("--limit-px", limit_px, 0.05, 100.0, "pixels")
        record, radiograph, entry = one_entry(image, records, canal)
        second_record, other, other_entry = one_entry(second, records, canal)
        _refuse_same(radiograph, other, second)
        kept = (*image_and_record(image, records), *image_and_record(second, records))
        outputs = {"picture": png, "table": csv, "page": html}
        refuse_replacing(outputs, kept)
        refuse_endings(outputs)
        before = _side(radiograph, entry.canal, wall or [], "--wall")
        after = _side(other, other_entry.canal, second_wall or [], "--second-wall")
        with waiting("laying one image on the other"):
            found = compare_canal(
                before,
                after,
                record.reference_of(entry),
                kind=kind.value,
                levels_mm=levels_of(levels),
                limit_px=limit_px,
                marking=record.marking,
                seed=seed,
            )
        words = status_words(record, second_record)
        written = _write((radiograph, other), found, words, png, csv, html)
        if as_json:
            names = [image.name, second.name]
            status, invented = joint_status(record, second_record)
            said = {"status": status, "invented": invented}
            places = [str(path) for path in written]
            print_json({"images": names, **said, **found.as_dict(), "written": places})
        else:
            from radlength.cli.shape_tables import print_comparison

            out = console()
            print_comparison(out, found, status=words)
            for path in written:
                out.print(f"written: {path}", soft_wrap=True)
            print_caution(out)
        exit_for(found.findings, strict=strict)


def _write(
    images: tuple[Any, Any],
    found: Comparison,
    status: str,
    png: Path | None,
    csv: Path | None,
    html: Path | None,
) -> list[Path]:
    from radlength.report import write_png
    from radlength.report.shape_compare import compare_picture
    from radlength.report.shape_page import shape_page
    from radlength.report.shape_tables import compare_csv

    if png:
        write_png(png, compare_picture(*images, found, status=status))
    if csv:
        write_whole(csv, compare_csv(found), bom=True)
    if html:
        picture = compare_picture(*images, found, status=status)
        pictures = [("both images with the walls of the canal", picture)]
        title = f"{found.label}: before and after"
        page = shape_page(title, pictures, compare_csv(found), found.findings, status=status)
        write_whole(html, page)
    return [place for place in (png, csv, html) if place is not None]


def _refuse_same(one: Any, other: Any, second: Path) -> None:
    from radlength.errors import ImageError

    if one.pixel_sha256 == other.pixel_sha256:
        raise ImageError(
            "both files hold the same picture",
            "one image before and another one after",
            "give the second image",
            code="compare-same",
            subject=second.name,
        )


def _side(radiograph: Any, canal: Any, words: list[str], option: str) -> Side:
    from radlength.errors import MarkError
    from radlength.shape.compare import Side
    from radlength.shape.walls import marked_walls

    paths = named_paths(words, radiograph.shape, option=option)
    if not paths:
        return Side(radiograph, canal)
    if len(paths) != 2:
        raise MarkError(
            f"{len(paths)} wall{'s' * (len(paths) != 1)} of a canal",
            "two walls, or none: then they are found",
            "give the other wall too",
            code="walls-number",
            subject=option,
        )
    one, other = paths.values()
    return Side(radiograph, canal, marked_walls(one, other, canal.path_px, u_px=1.0))
