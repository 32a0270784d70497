import csv
import io
import json
import sys

import pyarrow.parquet as pq
import pytest

from radlength.batch import batch_csv, batch_json, batch_parquet
from radlength.errors import BatchError
from radlength.trade import CAUTION

ROWS = (
    {"image": "a.png", "canal": "=1+1", "tooth": "46", "canal_length_mm": 21.25, "doubts": None},
    {"image": "b.png", "problem_code": "record-missing", "problem": "b.png: no record"},
)


def test_csv_has_a_line_a_row_the_caution_in_each_and_no_formula():
    head, one, two = csv.reader(io.StringIO(batch_csv(ROWS)))
    assert head == [
        "image",
        "tooth",
        "canal",
        "canal_length_mm",
        "doubts",
        "problem_code",
        "problem",
        "caution",
    ]
    assert one == ["a.png", "46", "'=1+1", "21.25", "", "", "", CAUTION]
    assert two[-3:] == ["record-missing", "b.png: no record", CAUTION]


def test_json_has_the_caution_and_the_rows():
    data = json.loads(batch_json(ROWS, "estimate"))
    assert (data["caution"], data["job"], data["rows"]) == (CAUTION, "estimate", list(ROWS))


def test_parquet_holds_numbers_as_numbers_and_is_the_same_twice():
    data = batch_parquet(ROWS)
    table = pq.read_table(io.BytesIO(data)).to_pylist()
    assert [row["canal_length_mm"] for row in table] == [21.25, None]
    assert table[0]["tooth"] == "46"
    assert {row["caution"] for row in table} == {CAUTION}
    assert batch_parquet(ROWS) == data


def test_without_pyarrow_a_sentence(monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(BatchError, match=r"radlength\[cluster\]"):
        batch_parquet(ROWS)
