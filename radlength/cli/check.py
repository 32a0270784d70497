"""``radlength check``: records still belong to their images, and numbers still follow from marks; a whole tree too."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import RECORD, Debug, Json, Records, Strict
from radlength.cli.records import open_marked
from radlength.cli.talk import (
    EXIT_DOMAIN,
    EXIT_FINDING,
    console,
    print_caution,
    print_json,
    said_plainly,
    waiting,
)

if TYPE_CHECKING:
    from radlength.record import Record

EXAMPLE = "radlength check tooth.png"


def check(
    image: Annotated[
        Path, typer.Argument(metavar="IMAGE|FOLDER", help="An image, its record, or a folder with all below.")
    ],
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Check a record: schema, pixels, and every stored length against its marks.

    The record may be named instead of its image. In a folder every record and every case below it is checked: hashes
    of images and records too, and that the lengths of a case are what the records keep.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record import check_binding

        if image.is_dir():
            _tree(image, records, strict=strict, as_json=as_json)
            return
        from radlength.record.compare import DIFFERS, compare_record

        image = image.with_name(image.name.removesuffix(RECORD))
        record, radiograph = open_marked(image, records)
        check_binding(record, radiograph)
        rows = compare_record(record, radiograph)
        if as_json:
            print_json({"image": image.name, "status": record.status, "pixels": "agree", "canals": rows})
        else:
            _tell(image.name, record, rows)
        if strict and any(row["verdict"] == DIFFERS for row in rows):
            raise typer.Exit(EXIT_FINDING)


def _tree(folder: Path, records: Path | None, *, strict: bool, as_json: bool) -> None:
    from radlength.cli.check_tree import check_tree, tell_tree

    with waiting("checking"):
        found = check_tree(folder, records)
    if as_json:
        print_json({"folder": str(folder), "files": [one.as_dict() for one in found]})
    else:
        out = console()
        tell_tree(out, found)
        print_caution(out)
    verdicts = {one.verdict for one in found}
    if "broken" in verdicts:
        raise typer.Exit(EXIT_DOMAIN)
    if strict and "differs" in verdicts:
        raise typer.Exit(EXIT_FINDING)


def _tell(name: str, record: Record, rows: list[dict[str, Any]]) -> None:
    from radlength.report.words import status_words

    out = console()
    out.print(f"{name}: the record is sound, its pixels agree; {status_words(record)}")
    for row in rows:
        stored = f"{row['stored_mm']:.2f} mm stored, " if row["stored_mm"] is not None else ""
        where = f"; what differs: {', '.join(row['differing'])}" if row.get("differing") else ""
        out.print(
            f"  {row['canal']}: canal length {stored}{row['now_mm']:.2f} mm from the marks: "
            f"{row['verdict']}{where}"
        )
        if "not_confirmed" in row:
            out.print(f"    not confirmed: {row['not_confirmed']}")
    out.print(f"  entries of history: {len(record.history)}")
    print_caution(out)
