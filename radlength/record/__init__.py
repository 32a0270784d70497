"""The record beside an image: the only source of truth. Frozen models, schema, store, history, migrations."""

from radlength.record.binding import check_binding
from radlength.record.case import Case
from radlength.record.case_canals import add_canal, new_reference_point, note_canal
from radlength.record.case_images import add_image, add_views
from radlength.record.case_lengths import (
    add_length,
    add_length_of_image,
    correct_length,
    stated_length,
    withdraw_length,
)
from radlength.record.case_parse import dump_case, parse_case
from radlength.record.case_state import canal_state
from radlength.record.case_store import case_path, load_case, save_case
from radlength.record.confirm import confirm_entry
from radlength.record.measure import measure_entry, measure_record, stated_radiograph
from radlength.record.models import CanalEntry
from radlength.record.parse import dump_record, parse_record
from radlength.record.record import Record
from radlength.record.schema import record_schema
from radlength.record.store import load_record, record_path, save_record

__all__ = [
    "CanalEntry",
    "Case",
    "Record",
    "add_canal",
    "add_image",
    "add_length",
    "add_length_of_image",
    "add_views",
    "canal_state",
    "case_path",
    "check_binding",
    "confirm_entry",
    "correct_length",
    "dump_case",
    "dump_record",
    "load_case",
    "load_record",
    "measure_entry",
    "measure_record",
    "new_reference_point",
    "note_canal",
    "parse_case",
    "parse_record",
    "record_path",
    "record_schema",
    "save_case",
    "save_record",
    "stated_length",
    "stated_radiograph",
    "withdraw_length",
]
