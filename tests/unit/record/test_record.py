"""Making and editing records: each edit one entry of history, nothing lost, nothing changed in place."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from helpers.records import GAP, NOON, PATH, canal, full_record, radiograph, reference, small_record
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from radlength.errors import MarkError, RadlengthError, RecordError
from radlength.length import Terminus, confirm_length
from radlength.record import Record, measure_entry
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty import Marking

IMAGE = radiograph()
SMALL = small_record(IMAGE)
FULL = full_record(IMAGE)


def confirmed(record, *, beyond=False):
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm", beyond=beyond)
    return record.with_confirmation(record.canals[0].id, done, GAP)


EDITS = {
    "reference": lambda r: r.with_reference(reference("ruler")),
    "reference again": lambda r: r.with_reference(reference(length_mm=22.0)),
    "no reference": lambda r: r.without_reference(r.references[0].name),
    "canal": lambda r: r.with_canal(canal(name="ML")),
    "canal again": lambda r: r.with_canal(canal(path=PATH[:-1])),
    "no canal": lambda r: r.without_canal(r.canals[-1].id),
    "terminus": lambda r: r.with_terminus(r.canals[0].id, Terminus(offset_mm=0.5)),
    "no terminus": lambda r: r.with_terminus(r.canals[0].id, None),
    "marking": lambda r: r.with_marking(Marking(apex_mm=0.4)),
    "pitch": lambda r: r.with_stated_pitch(0.03, 0.03),
    "estimate": lambda r: r.with_estimate(r.canals[0].id, measure_entry(r, r.canals[0], IMAGE)),
    "confirmation": confirmed,
    "rebind": lambda r: r.rebind(radiograph()),
}


def test_a_new_record_says_what_it_is():
    assert (SMALL.format, SMALL.version, SMALL.caution) == ("radlength-record", 2, CAUTION)
    assert SMALL.status == NOT_CONFIRMED
    assert SMALL.image.pixel_sha256 == IMAGE.pixel_sha256
    assert (SMALL.image.rows, SMALL.image.columns, SMALL.image.name) == (1300, 900, "tooth.tif")
    assert SMALL.coordinates.order == "row, column"
    assert [(h.what, h.who, h.when) for h in SMALL.history] == [("record made", "invented person", NOON)]


def test_a_single_reference_serves_every_canal():
    record = Record.new(IMAGE, canals=[canal(), canal(name="D")], references=[reference("")])
    assert [entry.reference for entry in record.canals] == ["reference 1", "reference 1"]


def test_references_are_chosen_by_label_or_by_name():
    chosen = {"46 MB": "long", "D": "short"}
    record = Record.new(
        IMAGE,
        canals=[canal(), canal(name="D"), canal(name="ML")],
        references=[reference("long"), reference("short")],
        canal_references=chosen,
    )
    assert [entry.reference for entry in record.canals] == ["long", "short", None]
    assert record.reference_of(record.entry("D")).name == "short"
    assert record.reference_of(record.entry("ML")) is None


def test_a_choice_for_a_canal_that_is_not_there_is_refused():
    with pytest.raises(RecordError, match="chosen for canal 'DL', which is not there; one of: 46 MB"):
        Record.new(IMAGE, canals=[canal()], references=[reference()], canal_references={"DL": "file in MB"})


@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS.keys())
def test_an_edit_adds_one_entry_of_history_and_keeps_the_rest(edit):
    kept = FULL.model_dump()
    edited = edit(FULL)
    assert edited.history[:-1] == FULL.history
    assert edited.history[-1].what
    assert edited.estimates[: len(FULL.estimates)] == FULL.estimates
    assert edited.confirmations[: len(FULL.confirmations)] == FULL.confirmations
    assert FULL.model_dump() == kept


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(sorted(EDITS)), max_size=12))
def test_no_sequence_of_edits_drops_history(names):
    record, made = SMALL, 1
    for name in names:
        before = record
        try:
            record = EDITS[name](record)
        except (RadlengthError, IndexError):
            assert name in {"no reference", "no canal", "terminus", "no terminus", "estimate", "confirmation"}
            continue
        made += 1
        assert record.history[:-1] == before.history
    assert len(record.history) == made
    assert record.history[0] == SMALL.history[0]


def test_history_keeps_what_was_there_before():
    edited = SMALL.with_canal(canal(path=PATH[:-1]))
    assert edited.history[-1].what == "canal 46 MB marked again"
    assert "931.5" in edited.history[-1].details
    assert SMALL.with_reference(reference(length_mm=25.0)).history[-1].details.count("21.0") == 1
    assert '"offset_mm":1.0' in SMALL.with_terminus("MB", None).history[-1].details


def test_a_canal_marked_again_keeps_its_id_and_its_place():
    record = SMALL.with_canal(canal(name="D"))
    again = record.with_canal(canal(path=PATH[:-1]))
    assert [entry.id for entry in again.canals] == [entry.id for entry in record.canals]
    assert again.canals[0].canal.path_px == PATH[:-1]


def test_ids_are_never_shared():
    record = SMALL.with_canal(canal(name="D")).without_canal("D").with_canal(canal(name="D"))
    assert len({SMALL.canals[0].id, record.canals[1].id}) == 2
    assert Record.new(IMAGE, canals=[canal()]).canals[0].id != SMALL.canals[0].id


def test_a_reference_without_a_name_gets_a_free_one():
    record = SMALL.with_reference(reference("reference 2")).with_reference(reference(""))
    assert [ref.name for ref in record.references] == ["file in MB", "reference 2", "reference 3"]


def test_a_removed_reference_leaves_its_canals_to_the_header():
    assert SMALL.without_reference("file in MB").canals[0].reference is None


def test_points_are_kept_to_a_thousandth():
    path = ((80.00049, 410.0), (905.0, 452.20001))
    assert SMALL.with_canal(canal(path=path)).canals[0].canal.path_px == ((80.0, 410.0), (905.0, 452.2))


def test_one_canal_of_two_confirmed_is_not_a_confirmed_record():
    record = confirmed(SMALL)
    assert record.with_canal(canal(name="D")).status == NOT_CONFIRMED
    assert record.with_canal(canal(name="D")).without_canal("D").status == "confirmed on an image"


def test_an_image_to_be_taken_again_confirms_nothing():
    assert confirmed(confirmed(SMALL), beyond=True).status == NOT_CONFIRMED


def test_a_confirmation_changes_the_status_and_stands_beside_the_estimate():
    assert confirmed(SMALL).status == "confirmed on an image"
    done = FULL.confirmations[0]
    assert (done.set_length_mm, done.rule, done.gap_path_px) == (21.0, "tip within 1 mm", GAP)
    assert done.canal_length.value_mm == pytest.approx(21.0 + done.gap.value_mm)
    assert done.working_length.value_mm == pytest.approx(done.canal_length.value_mm - 1.0)
    assert (done.algorithm, done.software) == (FULL.estimates[0].algorithm, FULL.estimates[0].software)


def test_a_confirmation_whose_version_nobody_kept_is_read_as_it_is():
    kept = FULL.model_dump(mode="json")
    for name in ("algorithm", "software"):
        del kept["confirmations"][0][name]
    older = Record.model_validate_json(json.dumps(kept)).confirmations[0]
    assert (older.algorithm, older.software) == (None, None)


def test_a_stored_estimate_says_by_which_version_and_how_sure():
    stored, found = FULL.estimates[0], measure_entry(FULL, FULL.canals[0], IMAGE)
    assert stored.canal_length.value_mm == found.canal_length.value_mm
    assert stored.canal_length.low_mm < stored.canal_length.value_mm < stored.canal_length.high_mm
    assert (stored.algorithm, stored.method, stored.status) == (found.algorithm, "in_canal", NOT_CONFIRMED)
    assert stored.software.startswith("radlength ")
    assert stored.findings == tuple(finding.code for finding in found.findings)


def test_times_are_kept_in_utc():
    east = datetime(2026, 1, 2, 14, 0, tzinfo=timezone(timedelta(hours=2)))
    when = Record.new(IMAGE, when=east).history[0].when
    assert when == NOON
    assert when.tzinfo == UTC


def test_a_record_cannot_be_changed_in_place():
    with pytest.raises(ValidationError, match="frozen"):
        SMALL.status = "confirmed on an image"


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda: SMALL.entry("DL"), "no canal 'DL'; one of: 46 MB"),
        (lambda: Record.new(IMAGE).entry("DL"), "one of: none is marked"),
        (lambda: SMALL.with_canal(canal("36")).entry("MB"), "more than one canal 'MB'; one of: 46 MB, 36 MB"),
        (lambda: SMALL.without_canal("DL"), "no canal 'DL'"),
        (lambda: SMALL.without_reference("ruler"), "no reference 'ruler'; one of: file in MB"),
        (lambda: SMALL.with_canal(canal(), reference="ruler"), "46 MB is measured by 'ruler', which is not there"),
        (lambda: SMALL.with_stated_pitch(float("nan"), 0.02), "a pixel pitch of nan x 0.02 mm; 0.005 to 0.2 mm"),
        (lambda: SMALL.with_stated_pitch(0.02, 2.0), "a pixel pitch of 0.02 x 2.0 mm"),
        (lambda: SMALL.with_marking(Marking(), who="x" * 501), "more than 500 characters; nothing was changed"),
        (lambda: SMALL.with_marking(Marking(), who="\ud800"), "who: has characters that cannot be written as UTF-8"),
        (lambda: SMALL.with_reference(reference("\ud800")), r"the name '\\ud800' cannot be written as UTF-8"),
        (lambda: SMALL.with_canal(canal(path=((0, 0), (1300, 2)))), r"46 MB leaves the image \(1300 x 900\)"),
        (lambda: Record.new(IMAGE, canals=[canal(), canal()]), "canal 46 MB is there twice"),
        (
            lambda: Record.new(IMAGE, references=[reference(), reference()]),
            "two references are called 'file in MB'",
        ),
        (lambda: Record.new(IMAGE, when=NOON.replace(tzinfo=None)), "when: should have timezone info"),
        (
            lambda: Record.new(IMAGE, when=datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=1)))),
            "a time outside the calendar",
        ),
        (lambda: Record.new(replace(IMAGE, name="x" * 256)), "name: has more than 255 characters"),
        (lambda: Record.new(replace(IMAGE, name="\udcff.png")), r"\\udcff.png: name: has characters"),
    ],
    ids=[
        "unknown canal", "nothing marked", "two teeth", "remove unknown", "remove reference", "unknown reference",
        "pitch not a number", "pitch too large", "long name", "half a character", "half in a mark", "outside",
        "canal twice", "reference twice", "no time zone", "before the calendar", "long file name", "odd file name",
    ],
)  # fmt: skip
def test_a_wrong_edit_is_refused_in_plain_words(edit, words):
    with pytest.raises(RecordError, match=words):
        edit()


def test_an_estimate_of_another_canal_is_refused():
    record = SMALL.with_canal(canal(name="D"), reference="file in MB")
    found = measure_entry(record, record.entry("D"), IMAGE)
    with pytest.raises(RecordError, match="an estimate of 46 D given for 46 MB"):
        record.with_estimate(record.entry("MB").id, found)


def test_a_gap_path_that_is_none_is_refused():
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm")
    with pytest.raises(MarkError, match="gap: a path has 1 point"):
        SMALL.with_confirmation(SMALL.canals[0].id, done, GAP[:1])
    with pytest.raises(RecordError, match="the path of a gap leaves the image"):
        SMALL.with_confirmation(SMALL.canals[0].id, done, ((0, 0), (2000, 0)))


def test_every_reference_of_the_image_is_compared_with_the_scale():
    def codes(others):
        record = SMALL
        for other in others:
            record = record.with_reference(other)
        return [finding.code for finding in measure_entry(record, record.canals[0], IMAGE).findings]

    wire = replace(reference("wire"), placement="beside")
    assert "scales-disagree" not in codes([wire])
    assert "scales-disagree" in codes([replace(wire, length_mm=1.3 * wire.length_mm)])
