"""A case knows which lengths are of one image, and on which day each image was taken."""

from datetime import date, timedelta

import pytest
import tifffile
from helpers.made_case import NOON, full_case, with_canal, with_locator, write_marked_image
from helpers.records import radiograph

from radlength.length.reconcile_mean import combine
from radlength.record import Case, add_image, add_length_of_image, canal_state, load_record
from radlength.record.case_models import LengthAdded


def codes(case):
    return [finding.code for finding in canal_state(case, "46 MB").findings]


def test_estimate_and_confirmation_of_one_image_get_no_surer_together(tmp_path):
    case = full_case(tmp_path)
    readings = {one.name.partition(" ")[2]: one for one in canal_state(case, "46 MB").side_by_side.readings}
    images = {name: one.images for name, one in readings.items()}
    assert images["length-confirmation image"] == images["estimate on a working-length image"] != frozenset()
    assert images["apex locator"] == frozenset()
    mean = combine(canal_state(case, "46 MB").side_by_side)
    assert min(mean.weights) == 0.0
    assert "mean-image-once" in [finding.code for finding in mean.findings]
    assert "values-of-one-image" in codes(case)


def test_two_results_of_one_image_are_no_second_method(tmp_path):
    write_marked_image(tmp_path)
    case = Case.new(invented=True)
    case = add_image(case, tmp_path, "tooth.tif", stage="working length", taken=date(2026, 1, 2), when=NOON)
    case = with_canal(case)
    record = load_record(tmp_path / "tooth.tif")
    for result in ("estimate", "confirmation"):
        case = add_length_of_image(case, "46 MB", record, 1, flaring="not known", result=result, when=NOON)
    assert "single-image" in codes(case)
    assert "single-image" not in codes(with_locator(case))


@pytest.fixture
def backwards(tmp_path):
    """Return a case of two images, the later one measured first: 21.5 mm in March, 20.5 mm in May."""
    case = with_canal()
    for name, taken, value, hours in (("may.tif", 5, 20.5, 1), ("march.tif", 3, 21.5, 2)):
        path = write_marked_image(tmp_path, name)
        tifffile.imwrite(path, radiograph().stored, description=name)
        record = load_record(path)
        kept = record.estimates[0]
        length = kept.canal_length.model_copy(
            update={"value_mm": value, "u_mm": 0.1, "low_mm": value - 0.2, "high_mm": value + 0.2}
        )
        when = NOON + timedelta(hours=hours)
        kept = kept.model_copy(update={"canal_length": length, "working_length": None, "when": when})
        fields = {key: getattr(record, key) for key in type(record).model_fields} | {"estimates": (kept,)}
        case = add_image(case, tmp_path, name, stage="review", taken=date(2025, taken, 2), when=NOON)
        number = case.images[-1].number
        case = add_length_of_image(
            case,
            "46 MB",
            type(record)(**fields),
            number,
            flaring="not known",
            result="estimate",
            when=NOON + timedelta(days=1),
        )
    return case


def test_lengths_stand_in_the_order_in_which_the_images_were_taken(backwards):
    state = canal_state(backwards, "46 MB")
    assert [event.length.value_mm for event in state.lengths] == [21.5, 20.5]
    assert [backwards.day_of(event).month for event in state.lengths] == [3, 5]


def test_a_canal_that_became_shorter_is_never_called_longer(backwards):
    """Measured in the other order the same two images said that a millimetre was gained."""
    (trend,) = canal_state(backwards, "46 MB").trends
    assert trend.change.value == pytest.approx(-1.0)
    assert [finding.code for finding in trend.findings] == ["length-lost"]


def test_the_day_of_a_stated_length_is_that_of_its_measuring():
    case = with_locator(with_canal(), measured=NOON - timedelta(days=40))
    (event,) = case.of_kind(LengthAdded)
    assert case.day_of(event) == date(2025, 11, 23)


@pytest.mark.parametrize("seconds", [-86400, 0, 1], ids=["clock set back", "in one second", "later"])
def test_the_newest_result_is_the_one_kept_last_whatever_a_clock_says(tmp_path, seconds):
    path = write_marked_image(tmp_path)
    record = load_record(path)
    first = record.estimates[-1]
    longer = first.canal_length.model_copy(update={"value_mm": 23.5, "low_mm": 23.0, "high_mm": 24.0})
    again = first.model_copy(
        update={
            "canal_length": longer,
            "working_length": None,
            "when": first.when + timedelta(seconds=seconds),
        }
    )
    fields = {key: getattr(record, key) for key in type(record).model_fields}
    record = type(record)(**fields | {"estimates": (*record.estimates, again)})
    case = add_image(
        with_canal(), tmp_path, "tooth.tif", stage="working length", taken=date(2026, 1, 2), when=NOON
    )
    number = case.images[-1].number
    case = add_length_of_image(
        case, "46 MB", record, number, flaring="not known", result="estimate", when=NOON
    )
    assert case.lengths("46 MB")[-1].length.value_mm == 23.5


def test_of_an_estimate_and_a_confirmation_in_one_second_the_confirmation_is_taken(tmp_path):
    record = load_record(write_marked_image(tmp_path))
    fields = {key: getattr(record, key) for key in type(record).model_fields}
    kept = record.estimates[-1].model_copy(update={"when": record.confirmations[-1].when})
    record = type(record)(**fields | {"estimates": (kept,)})
    case = add_image(
        with_canal(), tmp_path, "tooth.tif", stage="working length", taken=date(2026, 1, 2), when=NOON
    )
    case = add_length_of_image(case, "46 MB", record, case.images[-1].number, flaring="not known", when=NOON)
    assert case.lengths("46 MB")[-1].found.result == "confirmation"
