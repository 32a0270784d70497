"""The schema file says what the models say, in JSON Schema 2020-12 (json-schema.org, 2020-12), and judges alike."""

import json
import runpy
import sys
from copy import deepcopy
from pathlib import Path

import jsonschema
import pytest
from helpers.records import as_bytes, full_record, raw
from helpers.schema_text import AS_CHECKED_IN

from radlength.errors import RecordError
from radlength.record import dump_record, parse_record, record_schema
from radlength.record.models import VERSION
from radlength.record.schema import SCHEMA_FILE, schema_text, write_schema

RECORDS = Path(__file__).parents[3] / "fixtures" / "records"
VALIDATOR = jsonschema.Draft202012Validator(json.loads(SCHEMA_FILE.read_text(encoding="utf-8")))
RAW = raw(full_record())


@AS_CHECKED_IN
def test_the_file_is_what_the_models_give(tmp_path):
    assert SCHEMA_FILE.name == "radlength-record-2.schema.json"
    assert SCHEMA_FILE.read_bytes() == schema_text().encode()
    assert write_schema(tmp_path / "again.json").read_bytes() == SCHEMA_FILE.read_bytes()
    assert json.loads(schema_text()) == record_schema()


@AS_CHECKED_IN
def test_the_command_writes_the_same_file_again(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["schema", str(tmp_path / "again.json")])
    runpy.run_module("radlength.record.schema", run_name="__main__")
    assert (tmp_path / "again.json").read_bytes() == SCHEMA_FILE.read_bytes()


def test_the_schema_is_a_schema():
    assert VALIDATOR.META_SCHEMA["$id"] == record_schema()["$schema"]
    jsonschema.Draft202012Validator.check_schema(record_schema())


def test_nothing_unknown_may_be_anywhere():
    objects = [record_schema(), *record_schema()["$defs"].values()]
    assert [part.get("additionalProperties") for part in objects if part.get("type") == "object"] == [
        False
    ] * len(objects)


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_there_is_a_fixture_of_every_version_and_it_loads(version):
    (path,) = RECORDS.glob(f"*v{version}*.radlength.json")
    record = parse_record(path.read_bytes())
    assert record.version == VERSION
    assert record.invented
    assert record.estimates
    assert record.confirmations


def test_the_fixture_of_this_version_is_valid_and_written_byte_for_byte_again():
    (path,) = RECORDS.glob(f"*v{VERSION}*.radlength.json")
    VALIDATOR.validate(json.loads(path.read_bytes()))
    assert dump_record(parse_record(path.read_bytes())) == path.read_bytes()


def test_what_is_written_is_valid():
    VALIDATOR.validate(RAW)


WRONG = {
    "tooth 49": lambda d: d["canals"][0]["canal"].update(tooth="49"),
    "name in the image": lambda d: d["image"].update(patient_name="invented"),
    "name in a canal": lambda d: d["canals"][0]["canal"].update(patient_name="invented"),
    "name in a reference": lambda d: d["references"][0].update(patient_name="invented"),
    "string number": lambda d: d["estimates"][0]["canal_length"].update(value_mm="22,07"),
    "three coordinates": lambda d: d["canals"][0]["canal"]["path_px"][1].append(3.0),
    "one point": lambda d: d["canals"][0]["canal"].update(path_px=[[1.0, 2.0]]),
    "no caution": lambda d: d.pop("caution"),
    "no history": lambda d: d.pop("history"),
    "no canals": lambda d: d.pop("canals"),
    "no coordinates": lambda d: d.pop("coordinates"),
    "points the other way": lambda d: d["coordinates"].update(order="column, row"),
    "no hash": lambda d: d["image"].pop("pixel_sha256"),
    "short hash": lambda d: d["image"].update(pixel_sha256="abc"),
    "no status": lambda d: d.pop("status"),
    "no producer": lambda d: d.pop("producer"),
    "placement": lambda d: d["references"][0].update(placement="near"),
    "pitch": lambda d: d.update(stated_pitch_mm=[0.3, 0.3]),
}


@pytest.mark.parametrize("change", WRONG.values(), ids=WRONG.keys())
def test_schema_and_reader_refuse_alike(change):
    data = deepcopy(RAW)
    change(data)
    assert not VALIDATOR.is_valid(data)
    with pytest.raises(RecordError, match=r"^record: \$\."):
        parse_record(as_bytes(data))
