"""A kept result belongs to the marks it was made on: one of older marks gives a case no length unsaid."""

from dataclasses import replace
from datetime import timedelta

import pytest
from helpers.records import GAP, NOON, PATH, as_bytes, canal, radiograph, raw, reference, small_record

from radlength.errors import RecordError
from radlength.length import Terminus, confirm_length
from radlength.record import measure_entry, parse_record
from radlength.record.outdated import later_of, marks_changed_since
from radlength.uncertainty import Marking

IMAGE = radiograph()
TERMINUS = Terminus(offset_mm=1.0)
LONGER = (*PATH[:-1], (991.5, 462.25))


def two_canals():
    return small_record(IMAGE).with_canal(canal(name="D"), reference="file in MB", terminus=TERMINUS)


def estimated(record=None, name="MB", when=NOON):
    record = record or two_canals()
    entry = record.entry(name)
    return record.with_estimate(entry.id, measure_entry(record, entry, IMAGE), when=when)


def marked(record, name="MB", path=PATH, terminus=TERMINUS, reference="file in MB"):
    return record.with_canal(canal(name=name, path=path), reference=reference, terminus=terminus)


CHANGED = {
    "path": lambda r: marked(r, path=LONGER),
    "path, then the terminus and back": lambda r: (
        marked(r, path=LONGER).with_terminus("MB", None).with_terminus("MB", TERMINUS)
    ),
    "reference length": lambda r: r.with_reference(reference(length_mm=18.0)),
    "reference removed": lambda r: r.without_reference("file in MB"),
    "another reference": lambda r: marked(r.with_reference(reference("other", 20.0)), reference="other"),
    "terminus": lambda r: r.with_terminus("MB", Terminus(offset_mm=0.5)),
    "pitch": lambda r: r.with_stated_pitch(0.02, 0.02),
    "pixels": lambda r: r.rebind(radiograph(5)),
    "stated straight": lambda r: r.with_canal(
        replace(canal(), straight="second view"), reference="file in MB", terminus=TERMINUS
    ),
    "removed": lambda r: r.without_canal("MB"),
    "renamed, its instrument not": lambda r: r.with_names({r.canals[0].id: ("46", "ML")}),
}
AS_BEFORE = {
    "nothing": lambda r: r,
    "marked again as it was": marked,
    "there and back": lambda r: marked(marked(r, path=LONGER)),
    "reference there and back": lambda r: r.with_reference(reference(length_mm=18.0)).with_reference(
        reference()
    ),
    "terminus there and back": lambda r: r.with_terminus("MB", None).with_terminus("MB", TERMINUS),
    "the other canal": lambda r: marked(r, name="D", path=LONGER).with_terminus("D", None),
    "a reference that measures nothing": lambda r: r.with_reference(reference("ruler", 25.0)),
    "spread": lambda r: r.with_marking(Marking(apex_mm=0.4)),
    "another canal, named like it": lambda r: r.with_canal(canal(name="MB 2")).without_canal("46 MB 2"),
    "an instrument that tells its tooth too": lambda r: r.with_reference(
        replace(reference("file in MB"), canal="46 MB")
    ),
    "renamed with its instrument": lambda r: r.with_names({r.canals[0].id: ("46", "ML")}).with_reference(
        replace(reference("file in MB"), canal="ML")
    ),
    "the terminus of a canal that was renamed then": lambda r: r.with_terminus("D", None).with_names(
        {r.canals[1].id: ("46", "DL")}
    ),
    "reference point in words": lambda r: r.with_canal(
        replace(canal(), reference_point="cusp"), reference="file in MB", terminus=TERMINUS
    ),
}


@pytest.mark.parametrize("change", CHANGED.values(), ids=CHANGED)
def test_what_moves_a_length_makes_an_estimate_outdated(change):
    record = change(estimated())
    assert marks_changed_since(record, record.estimates[0])


@pytest.mark.parametrize("change", AS_BEFORE.values(), ids=AS_BEFORE)
def test_what_leaves_the_length_as_it_was_does_not(change):
    record = change(estimated())
    assert not marks_changed_since(record, record.estimates[0])


@pytest.mark.parametrize("name", sorted(set(CHANGED) - {"removed", "reference removed", "pixels"}))
def test_an_estimate_after_the_change_is_none_of_older_marks(name):
    record = CHANGED[name](two_canals())
    record = estimated(record, name=record.canals[0].canal.name)
    assert not marks_changed_since(record, record.estimates[0])


def test_a_terminus_is_that_of_the_canal_which_was_called_so_before_two_changed_places():
    """An instrument that names no canal lies in each that it measures, so that names change no method."""
    record = estimated(two_canals().with_reference(replace(reference(), canal=None)))
    first, second = record.canals
    record = record.with_terminus("MB", Terminus(offset_mm=0.5))
    record = record.with_names({first.id: ("46", "D"), second.id: ("46", "MB")})
    assert marks_changed_since(record, record.estimates[0])
    record = estimated(record, name="MB")
    assert not marks_changed_since(record, record.estimates[1])


def test_only_the_older_of_two_estimates_is_outdated():
    record = estimated(marked(estimated(), path=LONGER), when=NOON)
    assert [marks_changed_since(record, one) for one in record.estimates] == [True, False]


def test_a_change_whose_before_was_not_kept_counts():
    data = raw(marked(marked(estimated(), path=LONGER)))
    del data["history"][-1]["details"]
    record = parse_record(as_bytes(data))
    assert marks_changed_since(record, record.estimates[0])


def test_where_the_history_does_not_tell_of_each_estimate_times_count():
    data = raw(marked(estimated(), path=LONGER))
    told = next(one for one in data["history"] if one["what"].endswith("estimated"))
    data["history"].remove(told)
    record = parse_record(as_bytes(data))
    assert marks_changed_since(record, record.estimates[0])
    data["estimates"][0]["when"] = "2099-01-01T00:00:00Z"
    record = parse_record(as_bytes(data))
    assert not marks_changed_since(record, record.estimates[0])


def test_a_confirmation_is_outdated_where_it_does_not_hold():
    record = two_canals()
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm")
    record = record.with_confirmation(record.canals[0].id, done, GAP, when=NOON)
    assert not marks_changed_since(record, record.confirmations[0])
    record = marked(record, path=LONGER)
    assert marks_changed_since(record, record.confirmations[0])


def test_the_order_of_the_history_tells_which_was_kept_last_whatever_a_clock_said():
    record = estimated(when=NOON + timedelta(days=400))
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm")
    record = record.with_confirmation(record.canals[0].id, done, GAP, when=NOON)
    both = [record.estimates[0], record.confirmations[0]]
    assert later_of(record, both) is record.confirmations[0]
    data = raw(record)
    data["history"] = [one for one in data["history"] if not one["what"].endswith("estimated")]
    older = parse_record(as_bytes(data))
    assert later_of(older, [older.confirmations[0], older.estimates[0]]) is older.estimates[0]


@pytest.mark.parametrize(
    "place",
    [("estimates", "canal_length"), ("estimates", "working_length"), ("confirmations", "gap")],
    ids="-".join,
)
def test_a_kept_length_outside_its_interval_is_refused(place):
    record = estimated()
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm")
    data = raw(record.with_confirmation(record.canals[0].id, done, GAP, when=NOON))
    parse_record(as_bytes(data))
    data[place[0]][0][place[1]]["value_mm"] += 9
    with pytest.raises(RecordError, match="has the interval"):
        parse_record(as_bytes(data))
