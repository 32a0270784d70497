"""``radlength check``: a record still belongs to its image, and its numbers still follow from its marks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Strict
from radlength.cli.records import open_marked
from radlength.cli.talk import EXIT_FINDING, console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.record import Record

EXAMPLE = "radlength check tooth.png"
SUFFIX = ".radlength.json"


def check(
    image: ImageArgument,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Check a record: schema, pixels, and every stored length against its marks.

    The record may be named instead of its image.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record import check_binding
        from radlength.record.compare import DIFFERS, compare_record

        image = image.with_name(image.name.removesuffix(SUFFIX))
        record, radiograph = open_marked(image, records)
        check_binding(record, radiograph)
        rows = compare_record(record, radiograph)
        if as_json:
            print_json({"image": image.name, "status": record.status, "pixels": "agree", "canals": rows})
        else:
            _tell(record, rows)
        if strict and any(row["verdict"] == DIFFERS for row in rows):
            raise typer.Exit(EXIT_FINDING)


def _tell(record: Record, rows: list[dict[str, Any]]) -> None:
    from radlength.report.words import status_words

    out = console()
    out.print(f"{record.image.name}: the record is sound, its pixels agree; {status_words(record)}")
    for row in rows:
        stored = f"{row['stored_mm']:.2f} mm stored, " if row["stored_mm"] is not None else ""
        where = f" ({', '.join(row['differing'])})" if row.get("differing") else ""
        out.print(
            f"  {row['canal']}: canal length {stored}{row['now_mm']:.2f} mm from the marks: "
            f"{row['verdict']}{where}"
        )
    out.print(f"  {len(record.history)} entries of history")
    print_caution(out)
