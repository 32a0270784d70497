"""``radlength check``: does a record still belong to its image, and do its numbers still follow from its marks?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Strict
from radlength.cli.talk import EXIT_FINDING, console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.record import Record

EXAMPLE = "radlength check tooth.png"
AGREE_MM = 0.005


def check(
    image: ImageArgument,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Check a record: schema, pixels, and every stored length against its marks."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.imaging import read_radiograph
        from radlength.record import check_binding, load_record

        record = load_record(image, records_dir=records)
        radiograph = read_radiograph(image)
        check_binding(record, radiograph)
        rows = _compare(record, radiograph)
        if as_json:
            print_json({"image": image.name, "status": record.status, "pixels": "agree", "canals": rows})
        else:
            _tell(record, rows)
        if strict and any(row["verdict"] == "differs" for row in rows):
            raise typer.Exit(EXIT_FINDING)


def _compare(record: Record, radiograph: Radiograph) -> list[dict[str, Any]]:
    """Return the newest stored length of every canal beside the one its marks give now."""
    from radlength.record import measure_record

    rows = []
    for entry, now in measure_record(record, radiograph):
        stored = [estimate for estimate in record.estimates if estimate.canal == entry.id]
        row: dict[str, Any] = {
            "canal": entry.canal.label,
            "now_mm": now.canal_length.value_mm,
            "stored_mm": None,
        }
        if not stored:
            rows.append(row | {"verdict": "not estimated yet"})
            continue
        before = stored[-1]
        row["stored_mm"] = before.canal_length.value_mm
        agrees = abs(row["stored_mm"] - row["now_mm"]) <= AGREE_MM
        verdict = "agrees" if agrees else "differs"
        if not agrees and before.algorithm != now.algorithm:
            verdict = f"other algorithm version ({before.algorithm}, now {now.algorithm})"
        rows.append(row | {"verdict": verdict})
    return rows


def _tell(record: Record, rows: list[dict[str, Any]]) -> None:
    out = console()
    out.print(f"{record.image.name}: record is sound, pixels agree, {record.status}")
    for row in rows:
        stored = f"{row['stored_mm']:.2f} mm stored, " if row["stored_mm"] is not None else ""
        out.print(
            f"  {row['canal']}: canal length {stored}{row['now_mm']:.2f} mm from the marks: {row['verdict']}"
        )
    out.print(f"  {len(record.history)} entries of history")
    print_caution(out)
