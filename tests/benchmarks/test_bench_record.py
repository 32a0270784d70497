"""Opening, editing and saving a record; beside it what the standard library needs for the same bytes."""

import json

import pytest
from helpers.records import full_record

from radlength.record import dump_record, load_record, parse_record, save_record
from radlength.uncertainty import Marking

RECORD = full_record()
BYTES = dump_record(RECORD)


@pytest.mark.benchmark(group="parse a record")
def test_parse_record(benchmark):
    assert benchmark(parse_record, BYTES).canals


@pytest.mark.benchmark(group="parse a record")
def test_parse_with_the_standard_library(benchmark):
    assert benchmark(json.loads, BYTES)["canals"]


@pytest.mark.benchmark(group="edit a record")
def test_one_edit(benchmark):
    assert benchmark(RECORD.with_marking, Marking()).history


@pytest.mark.benchmark(group="edit a record")
def test_one_edit_of_a_record_with_a_thousand_entries_of_history(benchmark):
    record = RECORD
    for _ in range(1000):
        record = record.with_marking(Marking())
    assert benchmark(record.with_marking, Marking()).history


@pytest.mark.benchmark(group="save a record")
def test_save_and_load(benchmark, tmp_path):
    image = tmp_path / "tooth.tif"
    save_record(RECORD, image)

    def again():
        save_record(load_record(image))

    benchmark(again)
    assert load_record(image).canals
