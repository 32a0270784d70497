"""One result entered several times says nothing new: refused, and in cases that hold it already counted once."""

from datetime import date, timedelta
from typing import get_args

import pytest
from helpers.made_case import NOON, full_case, with_canal, with_length, write_marked_image

from radlength.errors import RecordError
from radlength.length.reconcile_mean import combine
from radlength.record import (
    Case,
    add_image,
    add_length_of_image,
    add_views,
    canal_state,
    correct_length,
    load_record,
    new_reference_point,
    withdraw_length,
)
from radlength.record.case_copies import counted_lengths
from radlength.record.case_images import STAGES
from radlength.record.case_models import ESTIMATES, LengthAdded, LengthMethod
from radlength.record.case_state import OF_IMAGES


def again(case, folder, result="estimate", image=1, **more):
    record = load_record(folder / "tooth.tif")
    return add_length_of_image(
        case, "46 MB", record, image, flaring="after flaring", result=result, when=NOON, **more
    )


def holding(case, *copies):
    """Return a case that an earlier version wrote, with these lengths once more."""
    events = list(case.events)
    for event in copies:
        events.append(event.model_copy(update={"number": len(events) + 1}))
    fields = {name: getattr(case, name) for name in Case.model_fields} | {"events": tuple(events)}
    return Case(**fields)


def told(case):
    return [f for f in canal_state(case, "46 MB").findings if f.code == "case-length-twice"]


@pytest.mark.parametrize("result", ["estimate", "confirmation"])
def test_a_result_of_an_image_is_entered_once(tmp_path, result):
    case = full_case(tmp_path)
    first = next(one for one in case.lengths("46 MB") if one.found and one.found.result == result)
    with pytest.raises(
        RecordError, match=f"the {result} of this image already.*--replaces {first.number}"
    ) as no:
        again(case, tmp_path, result)
    assert no.value.code == "case-length-twice"
    put = again(case, tmp_path, result, replaces=first.number, why="measured again")
    assert len(put.lengths("46 MB")) == len(case.lengths("46 MB"))
    gone = withdraw_length(case, first.number, why="wrong image", when=NOON)
    assert again(gone, tmp_path, result).lengths("46 MB")[-1].found.result == result


def test_an_image_that_was_added_again_is_the_same_image(tmp_path):
    case = full_case(tmp_path)
    case = add_image(case, tmp_path, "tooth.tif", stage="review", taken=date(2026, 1, 2), when=NOON)
    with pytest.raises(RecordError, match="the estimate of this image already"):
        again(case, tmp_path, image=len(case.events))


def test_another_canal_series_or_image_is_no_copy(tmp_path):
    case = full_case(tmp_path)
    record = load_record(tmp_path / "tooth.tif")
    other = add_length_of_image(
        case, "46 D", record, 1, flaring="not known", record_canal="46 MB", result="estimate", when=NOON
    )
    assert len(other.lengths("46 D")) == 2
    moved = new_reference_point(case, "MB", "reduced cusp", why="cusp reduced", when=NOON)
    assert len(again(moved, tmp_path).present_lengths("46 MB")) == 1
    with (tmp_path / "tooth.tif").open("ab") as file:
        file.write(b"another file")
    second = add_image(case, tmp_path, "tooth.tif", stage="review", taken=date(2026, 1, 3), when=NOON)
    assert again(second, tmp_path, image=len(second.events)).lengths("46 MB")[-1].found.result == "estimate"


def test_a_copy_is_not_corrected_into_a_canal_that_has_it(tmp_path):
    case = full_case(tmp_path)
    record = load_record(tmp_path / "tooth.tif")
    case = add_length_of_image(
        case, "46 D", record, 1, flaring="not known", record_canal="46 MB", result="estimate", when=NOON
    )
    with pytest.raises(RecordError, match="the estimate of this image already"):
        correct_length(case, len(case.events), canal="46 MB", why="wrong canal", when=NOON)


def test_a_pair_of_views_gives_one_length(tmp_path):
    case = with_canal()
    for name in ("a.png", "b.png"):
        (tmp_path / name).write_bytes(name.encode())
        case = add_image(case, tmp_path, name, stage="pre-operative", taken=date(2026, 1, 2), when=NOON)
    case = add_views(case, 3, 4, shift="mesial", when=NOON)
    case = with_length(case, method="two views", views=5)
    case = add_views(case, 3, 4, shift="mesial", when=NOON)
    for pair in (5, 7):
        with pytest.raises(RecordError, match="length 6 of 46 MB is this pair of views already"):
            with_length(case, method="two views", views=pair)


def test_copies_in_a_case_count_once_and_are_said(tmp_path):
    case = full_case(tmp_path)
    first = case.lengths("46 MB")[0]
    copied = holding(case, first, first)
    once, several = canal_state(case, "46 MB"), canal_state(copied, "46 MB")
    before, after = combine(once.side_by_side).length, combine(several.side_by_side).length
    assert (after.value, after.u) == pytest.approx((before.value, before.u))
    assert len(copied.events) in [one.number for one in several.lengths]
    assert told(case) == []
    assert [finding.severity for finding in told(copied)] == ["question"]
    numbers = f"Lengths {first.number}, {len(copied.events) - 1}, {len(copied.events)}"
    assert told(copied)[0].sentence.startswith(f"{numbers} are one image (estimate), entered 3 times")
    assert several.trends == once.trends


def test_two_results_of_one_image_that_differ_are_serious_and_the_last_counts(tmp_path):
    case = full_case(tmp_path)
    first = case.lengths("46 MB")[0]
    shifted = {key: getattr(first.length, key) + 1.5 for key in ("value_mm", "low_mm", "high_mm")}
    length = first.length.model_copy(update=shifted)
    other = first.model_copy(update={"length": length, "measured": first.measured - timedelta(hours=1)})
    held = holding(case, other)
    assert [finding.severity for finding in told(held)] == ["serious"]
    assert f"{first.length.value_mm:.2f} mm, {length.value_mm:.2f} mm" in told(held)[0].sentence
    counted = [one.number for one in counted_lengths(held, "46 MB")]
    assert len(held.events) in counted
    assert first.number not in counted


def test_lengths_typed_by_a_person_are_no_copies():
    case = with_length(with_length(with_canal()))
    assert len(counted_lengths(case, "46 MB")) == 2
    assert told(case) == []


@pytest.mark.parametrize("stage", STAGES)
def test_an_estimate_is_named_after_the_stage_of_its_image(tmp_path, stage):
    write_marked_image(tmp_path)
    case = add_image(
        Case.new(), tmp_path, "tooth.tif", stage=stage, label="own", taken=date(2026, 1, 2), when=NOON
    )
    case = again(with_canal(case), tmp_path)
    length = case.event(len(case.events), LengthAdded)
    assert length.method == ESTIMATES[stage]
    assert stage == "other" or stage.replace(" ", "-") in length.method.replace(" ", "-")
    assert "posterior" in {finding.code for finding in canal_state(case, "46 MB").findings}
    case = again(case, tmp_path, "confirmation")
    assert case.lengths("46 MB")[-1].method == "length-confirmation image"
    assert all(name in get_args(LengthMethod) for name in (*ESTIMATES.values(), *OF_IMAGES))


def test_a_confirmation_with_a_serious_doubt_is_not_entered(tmp_path):
    case = full_case(tmp_path)
    record = load_record(tmp_path / "tooth.tif")
    later = record.confirmations[-1].when + timedelta(hours=1)
    doubted = record.confirmations[-1].model_copy(update={"serious": True, "when": later})
    record = record.model_copy(update={"confirmations": (*record.confirmations, doubted)})
    with pytest.raises(RecordError, match=r"serious doubt.*--result estimate") as no:
        add_length_of_image(
            case, "46 MB", record, 1, flaring="after flaring", result="confirmation", when=NOON
        )
    assert no.value.code == "case-confirmation-doubted"
