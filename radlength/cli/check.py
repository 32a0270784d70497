"""``radlength check``: a record still belongs to its image, and its numbers still follow from its marks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records, Strict
from radlength.cli.records import open_marked
from radlength.cli.talk import EXIT_FINDING, console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.length import Estimate
    from radlength.record import Record
    from radlength.record.models import StoredEstimate

EXAMPLE = "radlength check tooth.png"
AGREE_MM = 0.005
SUFFIX = ".radlength.json"
DIFFERS = "differs: the marks were changed after the last estimate; run radlength estimate"


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

        image = image.with_name(image.name.removesuffix(SUFFIX))
        record, radiograph = open_marked(image, records)
        check_binding(record, radiograph)
        rows = _compare(record, radiograph)
        if as_json:
            print_json({"image": image.name, "status": record.status, "pixels": "agree", "canals": rows})
        else:
            _tell(record, rows)
        if strict and any(row["verdict"] == DIFFERS for row in rows):
            raise typer.Exit(EXIT_FINDING)


def _compare(record: Record, radiograph: Radiograph) -> list[dict[str, Any]]:
    """Return the newest stored result of every canal beside the one its marks give now."""
    from radlength.record import measure_record

    rows = []
    for entry, now in measure_record(record, radiograph):
        stored = [estimate for estimate in record.estimates if estimate.canal == entry.id]
        row: dict[str, Any] = {
            "canal": entry.canal.label,
            "now_mm": now.canal_length.value_mm,
            "stored_mm": stored[-1].canal_length.value_mm if stored else None,
        }
        rows.append(row | _verdict(stored[-1], now) if stored else row | {"verdict": "not estimated yet"})
    return rows


def _verdict(before: StoredEstimate, now: Estimate) -> dict[str, Any]:
    pairs = [("canal length", before.canal_length, now.canal_length)]
    if before.working_length is not None and now.working_length is not None:
        pairs.append(("working length", before.working_length, now.working_length))
    differing = [
        f"{name} {part}"
        for name, old, new in pairs
        for part in ("value", "low", "high")
        if abs(getattr(old, f"{part}_mm") - getattr(new, f"{part}_mm")) > AGREE_MM
    ]
    if (before.working_length is None) != (now.working_length is None):
        differing.append("terminus")
    if not differing:
        return {"verdict": "agrees"}
    if before.algorithm != now.algorithm:
        words = f"other version of the estimate: {before.algorithm}, now {now.algorithm}"
        return {"verdict": words, "differing": differing}
    return {"verdict": DIFFERS, "differing": differing}


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
