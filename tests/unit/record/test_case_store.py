"""Cases on disk: replaced whole or not at all, two writers told, nothing taken away."""

import errno
import json
import os
from pathlib import Path

import jsonschema
import pytest
from helpers.made_case import full_case, long_case, with_canal, with_decision, with_length
from helpers.schema_text import AS_CHECKED_IN

from radlength.errors import RadlengthError, RecordError
from radlength.record import Case, case_path, dump_case, load_case, parse_case, save_case
from radlength.record.case_models import CASE_VERSION
from radlength.record.case_schema import SCHEMA_FILE, case_schema, case_schema_text, write_case_schema
from radlength.trade import CAUTION

FIXTURES = Path(__file__).parents[3] / "fixtures" / "records"


def test_what_is_saved_is_what_is_loaded(tmp_path):
    case = with_decision(full_case(tmp_path))
    path = save_case(case, tmp_path)
    assert path == tmp_path / "radlength-case.json"
    assert load_case(tmp_path) == case
    assert load_case(path) == case
    assert path.read_bytes() == dump_case(case)


def test_a_successor_is_saved_where_the_case_was_read(tmp_path):
    save_case(with_canal(), tmp_path)
    for value in (20.0, 21.0):
        save_case(with_length(load_case(tmp_path), value))
    again = with_length(load_case(tmp_path), 22.0)
    save_case(again)
    save_case(with_length(again, 22.5))
    assert len(load_case(tmp_path).lengths("46 MB")) == 4


def test_an_event_is_one_line_and_the_caution_stands_at_the_top(tmp_path):
    text = dump_case(full_case(tmp_path)).decode()
    assert text.splitlines()[3] == f' "caution": {json.dumps(CAUTION)},'
    lines = [line for line in text.splitlines() if line.startswith('  {"number":')]
    assert len(lines) == len(json.loads(text)["events"])


def test_a_file_of_another_hand_is_read_and_written_in_our_lines(tmp_path):
    case = with_length(with_canal())
    case_path(tmp_path).write_text(json.dumps(_raw(case), indent=4), encoding="utf-8")
    more = with_length(load_case(tmp_path), 20.0)
    save_case(more)
    assert case_path(tmp_path).read_bytes() == dump_case(parse_case(dump_case(more)))
    again = with_length(load_case(tmp_path), 20.5)
    save_case(again)
    assert case_path(tmp_path).read_bytes() == dump_case(parse_case(dump_case(again)))


def test_a_flipped_bit_is_never_read_as_another_number():
    data = dump_case(with_length(with_canal()))
    for place in range(0, len(data), 31):
        damaged = bytearray(data)
        damaged[place] ^= 1 << place % 8
        with pytest.raises(RecordError, match=r"damaged|no such field|not JSON"):
            parse_case(bytes(damaged))


def test_events_laid_out_by_another_hand_stay_as_they_are(tmp_path):
    data = dump_case(with_length(with_canal())).replace(b'","', b'" ,\n   "')
    plain = data[: data.rfind(b',\n "sha256"')] + b"\n}\n"
    case_path(tmp_path).write_bytes(plain)
    more = with_length(load_case(tmp_path), 20.0)
    save_case(more)
    assert load_case(tmp_path).events == more.events
    assert b'" ,\n   "' in case_path(tmp_path).read_bytes()
    assert len(load_case(tmp_path).lengths("46 MB")) == 2


def test_two_writers_are_told_and_nothing_is_lost(tmp_path):
    save_case(with_canal(), tmp_path)
    mine, theirs = load_case(tmp_path), load_case(tmp_path)
    save_case(with_length(theirs, 20.0))
    with pytest.raises(
        RecordError, match="changed by somebody else since it was read; nothing was written"
    ) as told:
        save_case(with_length(mine, 21.0))
    assert told.value.code == "case-changed"
    assert [length.length.value_mm for length in load_case(tmp_path).lengths("46 MB")] == [20.0]
    save_case(with_length(load_case(tmp_path), 21.0))
    assert len(load_case(tmp_path).lengths("46 MB")) == 2


def test_a_case_that_was_not_read_is_never_overwritten(tmp_path):
    save_case(with_canal(), tmp_path)
    with pytest.raises(RecordError, match="there is a case on disk that was not read"):
        save_case(Case.new(), tmp_path)


def test_events_are_never_taken_away(tmp_path):
    save_case(with_length(with_canal()), tmp_path)
    case = load_case(tmp_path)
    fields = {name: getattr(case, name) for name in Case.model_fields}
    shorter = Case(**(fields | {"events": case.events[:2]}))
    shorter._seen, shorter._seen_events = case._seen, case._seen_events
    with pytest.raises(RecordError, match="would lose what is in it; events are only added"):
        save_case(shorter, tmp_path)
    assert load_case(tmp_path) == case


def test_a_disk_that_is_full_is_a_sentence_and_the_old_case_stays(tmp_path, monkeypatch):
    save_case(with_canal(), tmp_path)
    before = case_path(tmp_path).read_bytes()
    case = with_length(load_case(tmp_path))

    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RecordError, match="the case cannot be written: No space left"):
        save_case(case)
    monkeypatch.undo()
    assert case_path(tmp_path).read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["radlength-case.json"]


def test_no_folder_no_case_no_home(tmp_path):
    with pytest.raises(RecordError, match="there is no case in this folder; begin one: radlength case new"):
        load_case(tmp_path)
    with pytest.raises(RecordError, match="make the folder"):
        save_case(Case.new(), tmp_path / "none")
    with pytest.raises(RecordError, match="the case does not know its folder"):
        save_case(Case.new())
    case_path(tmp_path).mkdir()
    with pytest.raises(RecordError, match="the case cannot be read"):
        load_case(tmp_path)


def _raw(case=None):
    raw = json.loads(dump_case(case or with_length(with_canal())))
    del raw["sha256"]
    return raw


def _bytes(**changes):
    return json.dumps(_raw() | changes).encode()


def _event(place, **changes):
    raw = _raw()
    raw["events"][place] |= changes
    return json.dumps(raw).encode()


HOSTILE = {
    "no JSON": (b"{", "not JSON"),
    "no object": (b"[]", "not a radlength-case"),
    "a record": (b'{"format": "radlength-record"}', "not a radlength-case"),
    "NaN": (_bytes().replace(b'"number": 1', b'"number": NaN'), "not JSON: NaN"),
    "key twice": (b'{"format": "radlength-case", "format": "x"}', "there twice"),
    "newer": (_bytes(version=2), "case version 2 is newer than this radlength"),
    "version of words": (_bytes(version="1"), "a case version that never was"),
    "version true": (_bytes(version=True), "a case version that never was"),
    "unknown key": (_bytes(patient="invented"), r"\$\.patient: no such field"),
    "unknown key of an event": (_event(0, patient="invented"), r"\$\.events\[0\].*patient"),
    "unknown kind": (_event(0, kind="x"), r"\$\.events\[0\]"),
    "number": (_event(1, number=5), "event 2: it has the number 5"),
    "status": (_bytes(status="decided by a person"), "the status says 'decided by a person'"),
    "decided without decision": (_bytes(status="confirmed"), r"\$\.status"),
    "canal before it is added": (_event(0, name="D"), "canal '46 MB' is not added"),
    "series": (_event(2, series=1), "event 1 is no reference point of 46 MB"),
    "interval": (
        _event(2, length={"value_mm": 21.0, "u_mm": 0.1, "low_mm": 22.0, "high_mm": 23.0}),
        "an interval that does not hold its value",
    ),
    "shared": (_event(2, ruler="r", u_ruler_mm=3.0), "more uncertainty shared"),
    "replaces what comes later": (_event(2, replaces=9, why="x"), "replaces event 9"),
    "wrong tooth": (_event(0, tooth="99"), "tooth 99 does not exist"),
    "text as number": (_event(2, series="2"), r"\$\.events\[2\].*series"),
    "too large": (_event(2, series=10**400), "not JSON|number too large|series"),
}


def _with(**event):
    """A case whose last event says something that cannot be."""
    raw = _raw()
    raw["events"].append({"number": 4, "entered": "2026-01-02T12:00:00Z"} | event)
    raw.pop("sha256", None)
    return json.dumps(raw).encode()


LENGTH = {
    "kind": "length",
    "canal": "46 MB",
    "series": 2,
    "method": "tactile",
    "flaring": "not known",
    "measured": "2026-01-02T12:00:00Z",
    "landmark": "radiographic apex",
    "short_mm": 0.0,
    "length": {"value_mm": 21.0, "u_mm": 0.3, "low_mm": 20.5, "high_mm": 21.5},
}
FOUND = {
    "image": 1,
    "canal": "0" * 32,
    "result": "estimate",
    "when": "2026-01-02T12:00:00Z",
    "algorithm": "2",
}
DECISION = {
    "kind": "decision",
    "canal": "46 MB",
    "series": 2,
    "value_mm": 21.0,
    "landmark": "radiographic apex",
    "short_mm": 0.0,
    "by": "invented",
    "based_on": [3],
    "algorithms": [],
    "software": "x",
}
LOCATOR = {"mark": "0.0", "read_mm": 21.5, "deduction_mm": 0.0}
HOSTILE |= {
    "note of no canal": (
        _with(kind="note", canal="46 MB", state="joins", other="46 D"),
        "canal '46 D' is not",
    ),
    "views of no image": (_with(kind="views", straight=1, shifted=2, shift="left"), "event 1 is no image"),
    "found in no image": (_with(**LENGTH | {"found": FOUND}), "event 1 is no image"),
    "reading and length": (
        _with(**LENGTH | {"method": "apex locator", "locator": LOCATOR}),
        "the reading less the deduction is not the length",
    ),
    "decision of an old series": (
        _with(**DECISION | {"series": 1}),
        "a decision from another reference point",
    ),
    "decision on a canal that is not there": (
        _with(**DECISION | {"canal": "46 D"}),
        "canal '46 D' is not added",
    ),
    "decision that replaces none": (
        _with(**DECISION | {"replaces": 3}),
        "it replaces 3, the decision before",
    ),
    "withdrawn nothing": (_with(kind="withdrawal", length=1, why="x"), "event 1 is no length before it"),
    "record without hash": (
        _with(
            kind="image",
            path="a.png",
            file_sha256="0" * 64,
            stage="review",
            taken="2026-01-02",
            view="straight",
            record_path="a.png.radlength.json",
        ),
        "a record without its hash",
    ),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_what_is_no_case_is_refused_and_kept(tmp_path, what):
    data, words = HOSTILE[what]
    path = case_path(tmp_path)
    path.write_bytes(data)
    with pytest.raises(RecordError, match=words):
        load_case(tmp_path)
    assert path.read_bytes() == data
    with pytest.raises(RecordError, match="case on disk"):
        save_case(Case.new(), tmp_path)
    assert path.read_bytes() == data


@pytest.mark.parametrize(
    "path", ["/etc/passwd", "../other.png", "a/../../b.png", "C:/x.png", "a\\..\\b.png"], ids=str
)
def test_a_path_never_leaves_the_folder(tmp_path, path):
    raw = _raw(full_case(tmp_path))
    for key in ("path", "record_path"):
        changed = json.loads(json.dumps(raw))
        changed["events"][0][key] = path
        with pytest.raises(RecordError, match="leaves the folder of the case"):
            parse_case(json.dumps(changed).encode())


def test_bytes_cut_anywhere_are_a_refusal(tmp_path):
    data = dump_case(with_decision(full_case(tmp_path)))
    for cut in range(0, len(data) - 2, 37):
        with pytest.raises(RadlengthError, match=r"left untouched|not JSON"):
            parse_case(data[:cut])


@AS_CHECKED_IN
def test_the_schema_file_is_that_of_the_models(tmp_path):
    assert SCHEMA_FILE.read_text(encoding="utf-8") == case_schema_text()
    assert write_case_schema(tmp_path / "again.json").read_bytes() == SCHEMA_FILE.read_bytes()


def test_another_program_checks_a_case_by_the_schema(tmp_path):
    validator = jsonschema.Draft202012Validator(case_schema())
    validator.check_schema(case_schema())
    case = with_decision(full_case(tmp_path))
    for read in (_raw(case), json.loads(dump_case(case))):
        validator.validate(read)
    for change in ({"patient": "x"}, {"version": 2}, {"status": "fine"}):
        assert not validator.is_valid(_raw() | change)
    raw = _raw()
    raw["events"][0]["tooth"] = "49"
    assert not validator.is_valid(raw)


@pytest.mark.parametrize("version", range(1, CASE_VERSION + 1))
def test_there_is_a_fixture_of_every_version_and_it_loads(version):
    data = (FIXTURES / f"invented-v{version}.radlength-case.json").read_bytes()
    case = parse_case(data)
    assert case.invented
    assert {event.kind for event in case.events} == {
        "image",
        "canal",
        "reference point",
        "note",
        "views",
        "length",
        "withdrawal",
        "decision",
    }


def test_a_long_case_is_read_as_it_was_written():
    case = long_case()
    assert len(case.events) == 1000
    assert parse_case(dump_case(case)) == case
