"""The lengths of a case for other programs: CSV and JSON, each with the caution and the status."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from radlength._version import __version__
from radlength.clean import cell
from radlength.record import Case
from radlength.record.case_models import LengthAdded
from radlength.record.case_state import canal_state, state_as_dict
from radlength.report.catalogue import WORDS
from radlength.trade import CAUTION

CASE_COLUMNS = (
    "number", "canal", "status", "reference_point", "method", "flaring", "measured", "value_mm", "u_mm", "low_mm",
    "high_mm", "ends_at", "short_mm", "to_apex_mm", "to_apex_low_mm", "to_apex_high_mm", "stands", "replaces", "why",
    "decided_mm", "decided_by", "decided_on", "software", "caution",
)  # fmt: skip


def case_csv(case: Case) -> str:
    """Return one line a length, those that were corrected too; no text starts a formula in a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CASE_COLUMNS)
    for canal in case.canals:
        for row in _rows(case, canal.label):
            writer.writerow([cell(row[name]) for name in CASE_COLUMNS])
    return out.getvalue()


def _rows(case: Case, label: str) -> list[dict[str, object]]:
    state = canal_state(case, label)
    points = {series.number: series.words for series in case.series(label)}
    moved = state.side_by_side.at_apex if state.side_by_side else ()
    at_apex = {event.number: one.length for event, one in zip(state.lengths, moved, strict=True) if one}
    standing = {event.number for event in state.lengths}
    made = state.decision
    common = {
        "canal": label,
        "status": f"{state.status} · {WORDS['invented']}" if case.invented else state.status,
        "decided_mm": made.value_mm if made else None,
        "decided_by": made.by if made else None,
        "decided_on": f"{made.entered:%Y-%m-%d}" if made else None,
        "software": f"radlength {__version__}",
        "caution": CAUTION,
    }
    return [
        common | _row(event, points[event.series], at_apex.get(event.number), stands=event.number in standing)
        for event in case.lengths(label, corrected=True)
    ]


def _row(event: LengthAdded, point: str, moved: Any, *, stands: bool) -> dict[str, object]:
    return {
        "number": event.number,
        "reference_point": point,
        "method": event.method,
        "flaring": event.flaring,
        "measured": event.measured.isoformat(),
        "value_mm": round(event.length.value_mm, 4),
        "u_mm": round(event.length.u_mm, 4),
        "low_mm": round(event.length.low_mm, 4),
        "high_mm": round(event.length.high_mm, 4),
        "ends_at": event.landmark,
        "short_mm": event.short_mm,
        "to_apex_mm": round(moved.value, 4) if moved else None,
        "to_apex_low_mm": round(moved.low, 4) if moved else None,
        "to_apex_high_mm": round(moved.high, 4) if moved else None,
        "stands": "yes" if stands else "no",
        "replaces": event.replaces,
        "why": event.why,
    }


def case_json(case: Case) -> str:
    """Return every canal with its lengths, comparison, trend and decision, as JSON."""
    told = {
        "caution": CAUTION,
        "status": case.status,
        "invented": case.invented,
        "software": f"radlength {__version__}",
        "canals": [state_as_dict(canal_state(case, canal.label)) for canal in case.canals],
    }
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
