"""A case of a thousand events: loading it, and saving it beside a bare write, flush and rename of the same bytes."""

import json
import os

import pytest
from helpers.made_case import long_case, with_length

from radlength.record import canal_state, dump_case, load_case, parse_case, save_case

CASE = long_case(1000)
BYTES = dump_case(CASE)


@pytest.mark.benchmark(group="load a case of a thousand events")
def test_load_a_long_case(benchmark, tmp_path):
    save_case(parse_case(BYTES), tmp_path)
    assert len(benchmark(load_case, tmp_path).events) == 1000


@pytest.mark.benchmark(group="load a case of a thousand events")
def test_parse_with_the_standard_library(benchmark):
    assert benchmark(json.loads, BYTES)["events"]


@pytest.mark.benchmark(group="save a case of a thousand events")
def test_save_a_long_case(benchmark, tmp_path):
    case = parse_case(BYTES)
    save_case(case, tmp_path)
    benchmark(save_case, case, tmp_path)
    assert (tmp_path / "radlength-case.json").read_bytes() == BYTES


@pytest.mark.benchmark(group="save a case of a thousand events")
def test_write_flush_and_rename_the_same_bytes(benchmark, tmp_path):
    def bare():
        temporary = tmp_path / "case.part"
        with temporary.open("wb") as file:
            file.write(BYTES)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(tmp_path / "case.json")

    benchmark(bare)
    assert (tmp_path / "case.json").read_bytes() == BYTES


@pytest.mark.benchmark(group="work on a case of a thousand events")
def test_add_a_length(benchmark):
    assert len(benchmark(with_length, CASE).events) == 1001


@pytest.mark.benchmark(group="work on a case of a thousand events")
def test_state_of_a_canal_with_twenty_lengths(benchmark):
    assert benchmark(canal_state, long_case(22), "46 MB").lengths


@pytest.mark.benchmark(group="work on a case of a thousand events", max_time=0.1, min_rounds=2)
def test_state_of_a_canal_with_a_thousand_lengths(benchmark):
    assert len(benchmark(canal_state, CASE, "46 MB").side_by_side.pairs) == 998 * 997 // 2
