"""What a case says of a canal now: comparison, trend, decision, and every doubt with the pair that has none."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from helpers.made_case import (
    APEX,
    FORAMEN,
    NOON,
    full_case,
    with_canal,
    with_decision,
    with_length,
    with_locator,
)

from radlength.errors import RecordError
from radlength.record import (
    Case,
    add_image,
    add_length_of_image,
    canal_state,
    new_reference_point,
    note_canal,
    save_record,
)
from radlength.record.case_files import case_file_findings
from radlength.record.case_findings import case_findings
from radlength.record.case_state import decided_at_apex, reading_of, state_as_dict
from radlength.record.store import load_record
from radlength.trade import NOT_CONFIRMED
from radlength.uncertainty import Marking


def codes(case, canal="46 MB"):
    return {finding.code for finding in canal_state(case, canal).findings}


def two_methods(**more):
    return with_locator(with_length(with_canal(), 22.0), 21.5, **more)


def test_without_a_decision_it_is_an_estimate():
    state = canal_state(two_methods(), "46 MB")
    assert (state.status, state.status_words, state.decision) == (NOT_CONFIRMED, NOT_CONFIRMED, None)
    assert state_as_dict(state)["status"] == NOT_CONFIRMED
    assert state_as_dict(state)["side_by_side"]["status"] == NOT_CONFIRMED


def test_with_a_decision_it_says_who_and_when():
    state = canal_state(with_decision(two_methods(), 21.5), "46 MB")
    assert state.status_words == "decided by a person: 21.5 mm by invented person, 2026-01-02"


def test_lengths_are_brought_to_one_end_and_compared():
    state = canal_state(two_methods(), "46 MB")
    moved = [one.length.value for one in state.side_by_side.at_apex]
    assert moved == [22.0, pytest.approx(21.0 + 0.5 + 0.80)]
    assert codes(two_methods()) == {"values-agree"}


def test_a_conflict_is_serious_and_first():
    case = with_locator(with_length(with_canal(), 25.0), 19.0)
    assert canal_state(case, "46 MB").findings[0].code == "values-conflict"


def test_one_method_alone_is_asked_about():
    assert "single-method" in codes(with_length(with_canal()))
    assert "single-method" not in codes(two_methods())


@pytest.mark.parametrize(
    ("state", "code"),
    [({"metal_contact": True}, "locator-metal"), ({"stable": False}, "locator-unstable")],
    ids=["metal", "unstable"],
)
def test_a_doubtful_locator_reading_is_serious(state, code):
    assert code in codes(two_methods(state=state))
    assert code not in codes(two_methods())


def test_the_warning_of_back_teeth_needs_an_image(tmp_path):
    assert "posterior" in codes(full_case(tmp_path))
    assert "posterior" not in codes(two_methods())


def test_a_short_looking_tip_in_a_front_tooth_has_no_such_warning():
    case = with_length(
        with_canal(tooth="11", name="single"), canal="11 single", method="length-confirmation image"
    )
    assert "posterior" not in codes(case, "11 single")


@pytest.mark.parametrize("note", ["open apex", "resorbed apex"])
def test_an_unusual_apex_is_not_converted(note):
    case = note_canal(two_methods(), "MB", note, when=NOON)
    state = canal_state(case, "46 MB")
    assert state.side_by_side.pairs == ()
    assert "values-not-converted" in codes(case)
    assert decided_at_apex(with_decision(case, landmark=FORAMEN), "46 MB") is None


def test_series_are_never_compared():
    case = new_reference_point(
        with_length(with_canal(), 25.0), "MB", "reduced cusp", why="reduced", when=NOON
    )
    case = with_length(case, 20.0)
    state = canal_state(case, "46 MB")
    assert [length.length.value_mm for length in state.lengths] == [20.0]
    assert state.side_by_side.pairs == ()
    assert "series-new" in codes(case)


def test_a_ruler_and_a_reference_point_are_shared():
    case = with_length(with_canal(), ruler="steel", ruler_limit_mm=0.2, u_reference_mm=0.1)
    reading = reading_of(case.lengths("46 MB")[0])
    assert reading.shared == {"ruler steel": pytest.approx(0.2 / 3**0.5), "reference point 2": 0.1}


def test_an_image_shares_its_ruler_with_other_lengths(tmp_path):
    case, record = full_case(tmp_path), load_record(tmp_path / "tooth.tif")
    shared = {"ruler": "steel", "ruler_limit_mm": 0.2, "why": "with its ruler"}
    shared["replaces"] = case.lengths("46 MB")[1].number
    case = add_length_of_image(case, "46 MB", record, 1, flaring="before flaring", when=NOON, **shared)
    case = with_length(case, ruler="steel", ruler_limit_mm=0.2)
    image, tactile = (reading_of(event) for event in case.lengths("46 MB")[-2:])
    assert image.shared["ruler steel"] == tactile.shared["ruler steel"]
    shared |= {"replaces": case.lengths("46 MB")[-2].number, "ruler": "bad", "ruler_limit_mm": 2.0}
    with pytest.raises(RecordError, match="more uncertainty shared with other lengths than it has"):
        add_length_of_image(case, "46 MB", record, 1, flaring="before flaring", **shared)


def test_loss_of_length_is_a_trend_of_one_method():
    case = with_length(with_canal(), 22.0, limit_mm=0.1)
    case = with_length(case, 21.4, limit_mm=0.1, flaring="after flaring", when=NOON + timedelta(days=7))
    state = canal_state(case, "46 MB")
    assert [trend.change.value for trend in state.trends] == [pytest.approx(-0.6)]
    assert "length-lost" in codes(case)
    assert canal_state(two_methods(), "46 MB").trends == ()


@pytest.mark.parametrize(("value", "outside"), [(21.8, False), (20.5, True)], ids=["inside", "outside"])
def test_a_decision_far_from_every_length_is_serious(value, outside):
    case = with_decision(two_methods(), value)
    assert ("decision-outside" in codes(case)) is outside


def test_a_length_after_the_decision_that_disagrees_is_serious():
    decided = with_decision(two_methods(), 22.0)
    assert "decision-newer-length" in codes(with_length(decided, 20.5))
    assert "decision-newer-length" not in codes(with_length(decided, 22.2))
    before = with_decision(with_length(two_methods(), 20.5), 22.0)
    assert "decision-newer-length" not in codes(before)


def test_a_decision_of_an_older_version_is_a_note():
    case = with_decision(two_methods(), 22.0)
    old = case.events[-1].model_copy(update={"algorithms": ("length 0",)})
    fields = {name: getattr(case, name) for name in Case.model_fields} | {"events": (*case.events[:-1], old)}
    assert "decision-older-algorithm" in codes(Case(**fields))
    assert "decision-older-algorithm" not in codes(case)


def test_a_clock_that_went_back_is_said_and_nothing_is_lost():
    case = with_length(with_canal(), when=NOON - timedelta(days=1))
    found = [finding.code for finding in case_findings(case)]
    assert found == ["case-clock-back", "case-no-image"]
    assert len(case.lengths("46 MB")) == 1
    assert "case-clock-back" not in [finding.code for finding in case_findings(with_length(with_canal()))]


def test_a_time_after_the_entry_is_asked_about():
    case = with_length(with_canal(), measured=NOON + timedelta(days=2))
    assert "case-time-ahead" in [finding.code for finding in case_findings(case)]
    near = with_length(with_canal(), measured=NOON + timedelta(hours=20))
    assert "case-time-ahead" not in [finding.code for finding in case_findings(near)]


def staged(folder, stages):
    case = Case.new()
    for number, (stage, day) in enumerate(stages):
        (folder / f"{number}.png").write_bytes(b"invented")
        case = add_image(case, folder, f"{number}.png", stage=stage, taken=date(2026, 1, day), when=NOON)
    return [finding.code for finding in case_findings(case)]


def test_stages_out_of_order_are_asked_about(tmp_path):
    assert staged(tmp_path, [("pre-operative", 1), ("filling", 2)]) == []
    assert staged(tmp_path, [("filling", 1), ("pre-operative", 2)]) == ["case-stages-out-of-order"]


def test_an_image_taken_after_its_entry_is_asked_about(tmp_path):
    assert staged(tmp_path, [("review", 9)]) == ["case-time-ahead"]


def test_a_canal_without_a_length_is_said():
    assert "case-no-length" in [finding.code for finding in case_findings(with_canal())]
    state = canal_state(with_canal(), "46 MB")
    assert (state.lengths, state.side_by_side) == ((), None)


def files(case, folder):
    return [finding.code for finding in case_file_findings(case, folder)]


def test_files_as_they_were_are_silent(tmp_path):
    assert files(full_case(tmp_path), tmp_path) == []


def test_a_moved_image_is_found_by_its_hash(tmp_path):
    case = full_case(tmp_path)
    (tmp_path / "below").mkdir()
    (tmp_path / "tooth.tif").rename(tmp_path / "below" / "other.tif")
    found = case_file_findings(case, tmp_path)
    assert [finding.code for finding in found] == ["case-image-moved"]
    assert "is now below/other.tif" in found[0].sentence


def test_a_missing_an_edited_image_and_a_missing_record_are_serious(tmp_path):
    case = full_case(tmp_path)
    image = tmp_path / "tooth.tif"
    data = image.read_bytes()
    image.write_bytes(data + b"x")
    assert files(case, tmp_path) == ["case-image-edited"]
    image.unlink()
    assert files(case, tmp_path) == ["case-image-missing"]
    image.write_bytes(data)
    (tmp_path / "tooth.tif.radlength.json").unlink()
    assert files(case, tmp_path) == ["case-record-missing"]


def test_a_record_that_grew_is_asked_about_and_its_results_stay(tmp_path):
    case = full_case(tmp_path)
    save_record(load_record(tmp_path / "tooth.tif").with_marking(Marking(apex_mm=0.4)))
    assert files(case, tmp_path) == ["case-record-changed"]


def test_a_number_edited_by_hand_is_serious(tmp_path):
    case = full_case(tmp_path)
    number = next(event.number for event in case.events if event.kind == "length")
    old = case.events[number - 1]
    length = old.length.model_copy(update={"value_mm": old.length.value_mm + 0.01})
    events = list(case.events)
    events[number - 1] = old.model_copy(update={"length": length})
    fields = {name: getattr(case, name) for name in Case.model_fields} | {"events": tuple(events)}
    assert files(Case(**fields), tmp_path) == ["case-result-differs"]
    events[number - 1] = old.model_copy(
        update={"found": old.found.model_copy(update={"when": NOON - timedelta(days=9)})}
    )
    fields |= {"events": tuple(events)}
    assert files(Case(**fields), tmp_path) == ["case-result-gone"]


def test_another_reference_point_in_the_record_is_asked_about(tmp_path):
    case = full_case(tmp_path)
    image = tmp_path / "tooth.tif"
    record = load_record(image)
    entry = record.canals[0]
    named = replace(entry.canal, reference_point="distal cusp")
    save_record(record.with_canal(named, reference=entry.reference, terminus=entry.terminus))
    assert files(case, tmp_path) == ["case-record-changed", *["case-reference-point-differs"] * 2]
    record = load_record(image)
    named = replace(entry.canal, reference_point=" Mesiobuccal cusp")
    save_record(record.with_canal(named, reference=entry.reference, terminus=entry.terminus))
    assert files(case, tmp_path) == ["case-record-changed"]


def test_an_image_without_a_record_is_sound(tmp_path):
    (tmp_path / "plain.png").write_bytes(b"invented")
    case = add_image(Case.new(), tmp_path, "plain.png", stage="review", taken=date(2026, 1, 2), when=NOON)
    assert files(case, tmp_path) == []


def test_plain_data_is_whole():
    data = state_as_dict(canal_state(with_decision(two_methods(), 22.0), "46 MB"))
    assert (data["decision"]["by"], data["lengths"][1]["landmark"]) == ("invented person", FORAMEN)
    assert data["lengths"][0]["landmark"] == APEX
