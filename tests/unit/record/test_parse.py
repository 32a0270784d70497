"""From bytes to a record: every refusal in its own words, and never anything but a RadlengthError."""

import copy
import json

import pytest
from helpers.records import as_bytes, full_record, raw, small_record
from hypothesis import example, given, settings
from hypothesis import strategies as st

from radlength.errors import RadlengthError, RecordError
from radlength.record import Record, dump_record, parse_record
from radlength.record import parse as parse_module
from radlength.record.confirmed import marks_digest
from radlength.record.migrate import STEPS, migrate
from radlength.record.models import VERSION
from radlength.record.seal import unseal

FULL = full_record()
RAW = raw(FULL)
BYTES = dump_record(FULL)
PLAIN = unseal(BYTES, name="record", kind="record")


def changed(change):
    data = copy.deepcopy(RAW)
    change(data)
    return as_bytes(data)


def test_a_record_comes_back_as_it_was_and_is_written_alike():
    back = parse_record(BYTES)
    assert back.model_dump() == FULL.model_dump()
    assert dump_record(back) == BYTES


def test_a_file_marked_as_utf8_is_read():
    assert parse_record(b"\xef\xbb\xbf" + BYTES).model_dump() == FULL.model_dump()


def test_points_are_written_to_a_thousandth():
    data = changed(lambda d: d["canals"][0]["canal"]["path_px"].__setitem__(1, [350.12345, 418.00049]))
    written = json.loads(dump_record(parse_record(data)))
    assert written["canals"][0]["canal"]["path_px"][1] == [350.123, 418.0]


def test_names_of_any_language_are_written_as_they_are():
    assert "Zoë 歯".encode() in dump_record(small_record().with_marking(FULL.marking, who="Zoë 歯"))


@pytest.mark.parametrize("place", range(0, len(BYTES), 97))
def test_a_flipped_bit_is_never_read_as_another_number(place):
    for bit in range(8):
        damaged = bytearray(BYTES)
        damaged[place] ^= 1 << bit
        with pytest.raises(RecordError, match=r"damaged|no such field|not JSON"):
            parse_record(bytes(damaged))


def test_a_digit_changed_by_hand_is_told_with_the_way_to_mean_it():
    length = b'"length_mm": 21.0'
    with pytest.raises(RecordError, match=r"its own hash differs.*takes the line \"sha256\" .* out"):
        parse_record(BYTES.replace(length, b'"length_mm": 12.0'))
    assert parse_record(PLAIN.replace(length, b'"length_mm": 12.0')).references[0].length_mm == 12.0


def test_a_file_that_was_laid_out_anew_is_told():
    with pytest.raises(RecordError, match="its own hash differs"):
        parse_record(json.dumps(json.loads(BYTES)).encode())


REFUSED = {
    "empty": (b"", "record: not JSON; the file is left untouched"),
    "half": (BYTES[: len(BYTES) // 2], "record: not JSON; the file is left untouched"),
    "not utf-8": (PLAIN.replace(b"tooth.tif", b"\xff\xfe"), "not JSON"),
    "utf-16": (BYTES.decode().encode("utf-16"), "not JSON"),
    "NaN": (PLAIN.replace(b"21.0", b"NaN"), "not JSON: NaN; the file is left untouched"),
    "infinity": (PLAIN.replace(b"21.0", b"-Infinity"), "not JSON: -Infinity"),
    "huge": (PLAIN.replace(b"21.0", b"1e999"), "a number too large, or too many brackets"),
    "an integer larger than any number": (
        PLAIN.replace(b"1300", b"9" * 400),
        "a number too large, or too many brackets",
    ),
    "long integer": (PLAIN.replace(b"1300", b"9" * 5000), "not JSON"),
    "key twice": (PLAIN.replace(b'"columns"', b'"rows"'), "the key 'rows' is there twice"),
    "half a character": (PLAIN.replace(b"tooth.tif", b"\\ud800"), r"\$: Invalid JSON"),
    "brackets": (b"[" * 100_000, "not JSON"),
    "deep": (PLAIN.replace(b'"marking"', b'"m":' + b"[" * 800 + b"]" * 800 + b',"marking"'), "Invalid JSON"),
    "a list": (b"[1, 2]", "not a radlength-record"),
    "other format": (changed(lambda d: d.update(format="notes")), "not a radlength-record"),
    "newer": (
        changed(lambda d: d.update(version=VERSION + 1)),
        rf"record version {VERSION + 1} is newer than this radlength \({VERSION}\); left untouched; update radlength",
    ),
    "version 0": (
        changed(lambda d: d.update(version=0)),
        f"record version 0; 1 to {VERSION}; the file is left untouched",
    ),
    "version true": (changed(lambda d: d.update(version=True)), f"record version True; 1 to {VERSION}"),
    "version words": (changed(lambda d: d.update(version="1" * 9999)), rf"record version '1+\.\.\.1+'; 1 to {VERSION}"),
    "no version": (changed(lambda d: d.pop("version")), f"record version None; 1 to {VERSION}"),
    "no caution": (changed(lambda d: d.pop("caution")), r"\$\.caution: is missing"),
    "empty caution": (changed(lambda d: d.update(caution="")), r"\$\.caution: has fewer than 40 characters"),
    "patient name": (
        changed(lambda d: d["image"].update(patient_name="invented")),
        r"\$\.image\.patient_name: no such field, nothing else may be kept in a record",
    ),
    "name in a canal": (
        changed(lambda d: d["canals"][0]["canal"].update(patient="invented")),
        r"\$\.canals\[0\]\.canal\.patient: no such field",
    ),
    "string number": (
        changed(lambda d: d["references"][0].update(length_mm="21,0")),
        r"\$\.references\[0\]\.length_mm: should be a valid number",
    ),
    "number in words": (
        changed(lambda d: d["references"][0].update(length_mm="21.0")),
        r"\$\.references\[0\]\.length_mm: should be a valid number",
    ),
    "float rows": (changed(lambda d: d["image"].update(rows=1300.0)), r"\$\.image\.rows: "),
    "numeric time": (changed(lambda d: d["history"][0].update(when=5)), r"\$\.history\[0\]\.when: "),
    "no zone": (changed(lambda d: d["history"][0].update(when="2026-01-02T12:00:00")), r"\.when: .*timezone"),
    "before the calendar": (
        changed(lambda d: d["history"][0].update(when="0001-01-01T00:00:00+23:00")),
        r"\$\.history\[0\]\.when: .*a time outside the calendar",
    ),
    "tooth 49": (
        changed(lambda d: d["canals"][0]["canal"].update(tooth="49")),
        r"\$\.canals\[0\]\.canal: tooth 49 does not exist; ISO 3950: 11-18",
    ),
    "terminus": (
        changed(lambda d: d["canals"][1]["terminus"].update(offset_mm=0.5)),
        r"\$\.canals\[1\]\.terminus: terminus offset 0.5 mm, but table",
    ),
    "spread": (changed(lambda d: d["marking"].update(apex_mm=9)), r"\$\.marking: apex_mm is 9\.0 mm; a standard"),
    "length": (
        changed(lambda d: d["references"][0].update(length_mm=2100)),
        r"\$\.references\[0\]: a reference length of 2100\.0 mm; 0\.5 to 60 mm",
    ),
    "three coordinates": (
        changed(lambda d: d["canals"][0]["canal"]["path_px"][1].append(3)),
        r"\$\.canals\[0\]\.canal\.path_px\[1\]: ",
    ),
    "one point": (
        changed(lambda d: d["canals"][0]["canal"].update(path_px=[[1, 2]])),
        r"\$\.canals\[0\]\.canal: a path has 1 point; a path needs at least two \(row, column\) points",
    ),
    "canal outside": (
        changed(lambda d: d["canals"][0]["canal"]["path_px"].append([1300, 2])),
        r"the path of 46 MB leaves the image \(1300 x 900\); the file is left untouched$",
    ),
    "reference outside": (
        changed(lambda d: d["references"][0]["path_px"].append([5, 900])),
        r"the path of file in MB leaves the image \(1300 x 900\)",
    ),
    "gap of no point": (
        changed(lambda d: d["confirmations"][0].update(gap_path_px=[])),
        "the path of a gap has 0 points, at least two make one; the file is left untouched$",
    ),
    "gap of one point": (
        changed(lambda d: d["confirmations"][0].update(gap_path_px=[[1, 2]])),
        "the path of a gap has 1 point, at least two make one",
    ),
    "canal twice": (
        changed(lambda d: d["canals"].append(d["canals"][0] | {"id": "0" * 32})),
        "canal 46 MB is there twice",
    ),
    "id twice": (
        changed(lambda d: d["canals"][1].update(id=d["canals"][0]["id"])),
        "two canals have the id [0-9a-f]{32}",
    ),
    "reference twice": (
        changed(lambda d: d["references"].append(d["references"][0])),
        "two references are called 'file in MB'",
    ),
    "no reference name": (
        changed(lambda d: (d["references"][0].update(name=""), d["canals"].clear())),
        "a reference has no name",
    ),
    "unknown reference": (
        changed(lambda d: d["canals"][0].update(reference="ruler")),
        "canal 46 MB is measured by 'ruler', which is not there",
    ),
    "no history": (changed(lambda d: d["history"].clear()), "the history is empty"),
    "status alone": (
        changed(lambda d: d.update(status="confirmed on an image")),
        "the status says 'confirmed on an image' with 1 confirmations",
    ),
    "confirmation alone": (
        changed(
            lambda d: d["confirmations"].append(
                d["confirmations"][0]
                | {"canal": d["canals"][1]["id"], "marks_sha256": marks_digest(vars(FULL), FULL.canals[1])}
            )
        ),
        "the status says 'estimate, not confirmed' with 2 confirmations",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("data", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_a_record_that_cannot_be_trusted_is_refused_in_its_own_words(data, words):
    with pytest.raises(RecordError, match=words) as caught:
        parse_record(data)
    assert "untouched" in str(caught.value)
    assert len(str(caught.value)) < 800


@pytest.mark.parametrize(
    "first",
    [lambda d: d["canals"][0].update(terminus=None), lambda d: d["canals"].__setitem__(0, 5)],
    ids=["nothing there", "no canal"],
)
def test_the_place_of_a_mark_is_found_behind_others(first):
    data = changed(lambda d: (first(d), d["canals"][1]["canal"].update(tooth="49")))
    with pytest.raises(RecordError, match=r"\$\.canals\[1\]\.canal: tooth 49 does not exist"):
        parse_record(data)


def test_a_file_too_large_is_not_even_parsed(monkeypatch):
    monkeypatch.setattr(parse_module, "MAX_BYTES", 2_000_000)
    with pytest.raises(RecordError, match="larger than 2 MB, the most that is read"):
        parse_record(b" " * 3_000_000)


def test_a_refusal_keeps_the_code_of_the_mark_and_names_the_file():
    data = changed(lambda d: d["canals"][0]["canal"].update(tooth="49"))
    with pytest.raises(RecordError, match=r"^tooth\.tif\.radlength\.json: ") as caught:
        parse_record(data, name="tooth.tif.radlength.json")
    assert caught.value.code == "tooth-unknown"


def test_a_refusal_does_not_repeat_what_may_be_personal():
    data = changed(lambda d: d["image"].update(rows="somebody's name"))
    with pytest.raises(RecordError, match=r"\$\.image\.rows: should be a valid integer") as caught:
        parse_record(data)
    assert "somebody" not in str(caught.value)


def test_something_that_json_cannot_hold_is_refused_before_writing():
    broken = FULL.model_copy(update={"stated_pitch_mm": (float("nan"), 0.02)})
    with pytest.raises(RecordError, match="cannot be written as JSON; finite numbers and plain text"):
        dump_record(broken)


def test_migration_leaves_the_present_version_alone_and_steps_through_older_ones(monkeypatch):
    assert migrate(RAW, name="x") is RAW
    assert sorted(STEPS) == list(range(1, VERSION))
    monkeypatch.setattr("radlength.record.migrate.VERSION", VERSION + 1)
    monkeypatch.setitem(STEPS, VERSION, lambda old: old | {"version": old["version"] + 1})
    assert migrate(RAW, name="x")["version"] == VERSION + 1
    assert RAW["version"] == VERSION


def read_safely(data):
    """Return the record or ``None``; anything but a record or a refusal in plain words fails the test."""
    said = ""
    record = None
    try:
        record = parse_record(data)
    except RadlengthError as exc:
        said = str(exc)
    assert said.isprintable()
    assert isinstance(record, Record) or said
    return record


@given(st.binary(max_size=400))
@example(b'{"format": "radlength-record", "version": 1}')
def test_arbitrary_bytes_are_refused(data):
    assert read_safely(data) is None


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(BYTES)), st.integers(0, 40), st.binary(max_size=12))
def test_a_damaged_record_is_a_record_or_refused(place, length, new):
    read_safely(BYTES[:place] + new + BYTES[place + length :])


def places(value, here=()):
    yield here
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from places(item, (*here, key))


PLACES = [place for place in places(RAW) if place]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(PLACES), st.sampled_from(["replace", "remove", "add"]), JSON, st.text(max_size=8))
def test_a_mutated_record_is_a_record_or_refused(place, how, value, key):
    data = copy.deepcopy(RAW)
    parent = data
    for part in place[:-1]:
        parent = parent[part]
    if how == "replace":
        parent[place[-1]] = value
    elif how == "remove":
        del parent[place[-1]]
    elif isinstance(parent, dict):
        parent[key] = value
    else:
        parent.append(value)
    record = read_safely(as_bytes(data))
    if record is not None:
        again = parse_record(dump_record(record))
        assert dump_record(again) == dump_record(record)
