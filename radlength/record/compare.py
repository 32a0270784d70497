"""Stored lengths beside those the same marks give now."""

from __future__ import annotations

from typing import Any

from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.record.confirmed import why_not_confirmed
from radlength.record.measure import measure_record
from radlength.record.models import StoredEstimate
from radlength.record.record import Record

AGREE_MM = 0.005
DIFFERS = "differs: the marks were changed after the last estimate; run radlength estimate"


def compare_record(record: Record, radiograph: Radiograph) -> list[dict[str, Any]]:
    """Return the newest stored result of every canal beside the one its marks give now.

    Returns
    -------
    list of dict
        ``canal``, ``now_mm``, ``stored_mm``, ``verdict``, ``differing`` where something does, and ``not_confirmed``
        with the reason where a confirmation is kept that does not make the record a confirmed one.
    """
    why = why_not_confirmed(vars(record))
    rows = []
    for entry, now in measure_record(record, radiograph):
        stored = [estimate for estimate in record.estimates if estimate.canal == entry.id]
        row: dict[str, Any] = {
            "canal": entry.canal.label,
            "now_mm": now.canal_length.value_mm,
            "stored_mm": stored[-1].canal_length.value_mm if stored else None,
        }
        row |= _verdict(stored[-1], now) if stored else {"verdict": "not estimated yet"}
        if entry.canal.label in why:
            row["not_confirmed"] = why[entry.canal.label]
        rows.append(row)
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
