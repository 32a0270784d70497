"""The record beside an image: the only source of truth. Frozen models, schema, store, history, migrations."""

from radlength.record.checks import check_binding
from radlength.record.measure import measure_entry, measure_record, stated_radiograph
from radlength.record.models import CanalEntry
from radlength.record.parse import dump_record, parse_record
from radlength.record.record import Record
from radlength.record.schema import record_schema
from radlength.record.store import load_record, record_path, save_record

__all__ = [
    "CanalEntry",
    "Record",
    "check_binding",
    "dump_record",
    "load_record",
    "measure_entry",
    "measure_record",
    "parse_record",
    "record_path",
    "record_schema",
    "save_record",
    "stated_radiograph",
]
