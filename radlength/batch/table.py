"""The results of a batch as CSV, JSON and Parquet: sorted, and the same bytes wherever they were made."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence

from radlength._version import __version__
from radlength.batch.task import Row
from radlength.clean import cell, encodable
from radlength.errors import BatchError
from radlength.trade import CAUTION

FIRST, LAST = ("image", "tooth", "canal"), ("problem_code", "problem", "caution")


def columns(rows: Sequence[Row]) -> tuple[str, ...]:
    """Return every column of the rows: the image first, measures by name, problems and the caution last."""
    named = {name for row in rows for name in row} | {"image", *LAST}
    middle = sorted(named - {*FIRST, *LAST})
    return (*(name for name in FIRST if name in named), *middle, *LAST)


def batch_csv(rows: Sequence[Row]) -> str:
    """Return the table as CSV with the caution in every line; no text starts a formula in a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    names = columns(rows)
    writer.writerow([cell(name) for name in names])
    for row in _cautioned(rows):
        writer.writerow([cell(row.get(name)) for name in names])
    return out.getvalue()


def batch_json(rows: Sequence[Row], job: str) -> str:
    """Return the table as one JSON document with the caution on top."""
    data = {"caution": CAUTION, "job": job, "software": f"radlength {__version__}", "rows": list(rows)}
    return encodable(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)) + "\n"


def batch_parquet(rows: Sequence[Row]) -> bytes:
    """Return the table as Apache Parquet, texts as strings and numbers as doubles.

    Raises
    ------
    BatchError
        pyarrow is not installed.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as exc:
        raise BatchError(
            "Parquet needs pyarrow, which is not installed",
            "CSV and JSON need nothing more",
            'pip install "radlength[cluster]"',
            code="batch-no-parquet",
        ) from exc
    whole = _cautioned(rows)
    arrays = {}
    for name in columns(rows):
        values = [row.get(name) for row in whole]
        numbers = all(value is None or isinstance(value, int | float) for value in values)
        told = not numbers or all(value is None for value in values)
        arrays[name] = pa.array(
            [None if v is None else encodable(str(v)) if told else float(v) for v in values],
            pa.string() if told else pa.float64(),
        )
    out = io.BytesIO()
    pq.write_table(pa.table(arrays), out)
    return out.getvalue()


def _cautioned(rows: Sequence[Row]) -> list[Row]:
    return [{**row, "caution": CAUTION} for row in rows]
