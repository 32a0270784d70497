"""A confirmation belongs to the marks it was made on: another path, scale or terminus, and it confirms nothing."""

import json
from dataclasses import replace

import pytest
from helpers.records import GAP, NOON, PATH, as_bytes, canal, radiograph, raw, reference, small_record

from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.length import Terminus, confirm_length
from radlength.record import dump_record, load_record, measure_entry, parse_record, save_record
from radlength.record.confirmed import confirmation_findings, marks_digest
from radlength.record.models import CONFIRMED
from radlength.trade import NOT_CONFIRMED
from radlength.uncertainty import Marking

IMAGE = radiograph()
SMALL = small_record(IMAGE)
TERMINUS = Terminus(offset_mm=1.0)


def confirmed(record=SMALL, **change):
    done = replace(confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm"), **change)
    return record.with_confirmation(record.canals[0].id, done, GAP, when=NOON)


RECORD = confirmed()
BESIDE = replace(reference(), placement="beside")
CHANGES = {
    "path": lambda r: r.with_canal(canal(path=PATH[:-1]), reference="file in MB", terminus=TERMINUS),
    "a thousandth": lambda r: r.with_canal(
        canal(path=(*PATH[:-1], (931.501, 455.25))), reference="file in MB", terminus=TERMINUS
    ),
    "reference path": lambda r: r.with_reference(replace(reference(), path_px=PATH[:-2])),
    "reference length": lambda r: r.with_reference(reference(length_mm=2.1)),
    "reference limit": lambda r: r.with_reference(replace(reference(), limit_mm=0.5)),
    "reference placement": lambda r: r.with_reference(BESIDE),
    "another reference": lambda r: r.with_reference(reference("ruler", 25.0)).with_canal(
        canal(), reference="ruler", terminus=TERMINUS
    ),
    "no reference": lambda r: r.without_reference("file in MB"),
    "terminus": lambda r: r.with_terminus("MB", Terminus(offset_mm=0.5)),
    "no terminus": lambda r: r.with_terminus("MB", None),
    "pitch": lambda r: r.with_stated_pitch(0.03, 0.03),
    "pixels": lambda r: r.rebind(radiograph(5)),
}
KEPT = {
    "spread": lambda r: r.with_marking(Marking(apex_mm=0.4)),
    "name": lambda r: r.with_names({r.canals[0].id: ("47", "D")}),
    "reference that measures nothing": lambda r: r.with_reference(reference("ruler", 25.0)),
    "estimate": lambda r: r.with_estimate(r.canals[0].id, measure_entry(r, r.canals[0], IMAGE)),
    "same marks": lambda r: r.with_canal(canal(), reference="file in MB", terminus=TERMINUS),
    "whole number": lambda r: r.with_reference(reference(length_mm=21)),
}


def as_older(record):
    """Return the plain data of a record as a program wrote it that kept no digest."""
    data = raw(record)
    for stored in data["confirmations"]:
        del stored["marks_sha256"], stored["serious"]
    return data


def codes(record):
    return [finding.code for finding in confirmation_findings(vars(record), record.canals[0])]


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_a_change_of_what_was_measured_takes_the_status_away(change):
    assert (RECORD.status, codes(RECORD)) == (CONFIRMED, [])
    after = change(RECORD)
    assert (after.status, codes(after)) == (NOT_CONFIRMED, ["confirmation-outdated"])
    assert parse_record(dump_record(after)) == after


@pytest.mark.parametrize("change", KEPT.values(), ids=KEPT.keys())
def test_what_moves_no_length_keeps_the_status(change):
    after = change(RECORD)
    assert (after.status, codes(after)) == (CONFIRMED, [])


def test_the_same_marks_again_bring_the_status_back():
    again = KEPT["same marks"](CHANGES["path"](RECORD))
    assert again.status == CONFIRMED
    assert confirmed(CHANGES["path"](RECORD)).status == CONFIRMED


def test_an_estimate_says_that_the_confirmation_is_of_older_marks():
    record = CHANGES["terminus"](RECORD)
    found = measure_entry(record, record.canals[0], IMAGE)
    assert "confirmation-outdated" in [finding.code for finding in found.findings]
    assert found.canal_length == measure_entry(SMALL, SMALL.canals[0], IMAGE).canal_length


def test_a_save_without_a_change_keeps_the_status(tmp_path):
    image, record = tmp_path / "tooth.tif", confirmed()
    save_record(record, image)
    kept = load_record(image)
    assert (kept.status, kept.confirmations) == (CONFIRMED, record.confirmations)
    save_record(kept, image)
    assert load_record(image) == kept


def test_a_serious_doubt_confirms_nothing():
    doubted = confirmed(findings=(Finding("x", "X.", "Y.", "serious"),))
    assert (doubted.status, codes(doubted)) == (NOT_CONFIRMED, ["confirmation-doubted"])
    assert confirmed(findings=(Finding("x", "X.", "Y."),)).status == CONFIRMED


def test_a_record_of_an_older_program_stays_confirmed_until_its_marks_change():
    older = parse_record(as_bytes(as_older(RECORD)))
    assert (older.status, older.confirmations[0].marks_sha256) == (CONFIRMED, None)
    assert parse_record(dump_record(older)) == older
    assert older.with_marking(Marking(apex_mm=0.4)).status == CONFIRMED
    for change in CHANGES.values():
        after = change(older)
        assert (after.status, codes(after)) == (NOT_CONFIRMED, ["confirmation-outdated"])
    assert confirmed(CHANGES["path"](older)).status == CONFIRMED


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_an_older_record_changed_after_its_confirmation_is_read_and_confirms_nothing(change):
    data = as_older(change(RECORD)) | {"status": CONFIRMED}
    older = parse_record(as_bytes(data))
    assert (older.status, codes(older)) == (NOT_CONFIRMED, ["confirmation-outdated"])
    assert parse_record(dump_record(older)) == older


def test_marks_changed_in_the_file_are_not_confirmed_by_its_word():
    data = raw(RECORD)
    data["references"][0]["length_mm"] = 25.0
    with pytest.raises(RecordError, match="the status says 'confirmed on an image' with 1 confirmations"):
        parse_record(as_bytes(data))


def test_the_digest_is_the_same_after_a_file():
    record = SMALL.with_reference(reference(length_mm=21)).with_stated_pitch(0.03, 0.02)
    again = parse_record(dump_record(record))
    first, second = (marks_digest(vars(one), one.canals[0]) for one in (record, again))
    assert first == second
    assert json.loads(dump_record(RECORD))["confirmations"][0]["marks_sha256"] == marks_digest(
        vars(RECORD), RECORD.canals[0]
    )
