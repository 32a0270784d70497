from __future__ import annotations

import csv
import io
import json

import pytest
from helpers.reports import evil, full_pages

from radlength.report import pages, table_csv, table_geojson, table_json
from radlength.trade import CAUTION, NOT_CONFIRMED


def test_csv_holds_each_canal_with_status_and_caution() -> None:
    rows = list(csv.DictReader(io.StringIO(table_csv(full_pages()))))
    assert [row["canal"] for row in rows] == ["MB", "D"]
    for row in rows:
        assert row["status"] == NOT_CONFIRMED
        assert row["caution"] == CAUTION
    first = rows[0]
    assert float(first["canal_length_mm"]) - float(first["working_length_mm"]) == pytest.approx(1.0)
    assert float(first["canal_length_low_mm"]) < float(first["canal_length_mm"])


def test_no_cell_of_the_csv_is_a_formula() -> None:
    rows = list(csv.reader(io.StringIO(table_csv(pages(*evil())))))
    assert any("HYPERLINK" in text for text in rows[1])
    for text in rows[1]:
        assert not text.startswith(("=", "+", "@", "\t", "\r"))
        assert "\u202e" not in text


def test_json_and_geojson_say_what_must_be_said() -> None:
    whole = json.loads(table_json(full_pages()))
    assert whole["caution"] == CAUTION
    assert [e["status"] for e in whole["estimates"]] == [NOT_CONFIRMED] * 2
    lines = json.loads(table_geojson(full_pages()))
    assert lines["caution"] == CAUTION
    assert lines["status"] == NOT_CONFIRMED
    roles = [feature["properties"]["role"] for feature in lines["features"]]
    assert roles == ["canal", "canal", "reference"]
    assert lines["features"][0]["geometry"]["coordinates"][0] == [410.0, 80.0]
