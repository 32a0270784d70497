"""The predictions are compared with what the estimate says once the advice is followed."""

from dataclasses import replace

import numpy as np
import pytest
from helpers.shapes import bent_canal

from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length, narrower
from radlength.scale import Reference
from radlength.uncertainty import Marking

PX_PER_MM = 40.0


def canal(clicks=6, **change):
    dense = bent_canal(22.0, 30.0, count=4001)
    path = dense[np.linspace(0, 4000, clicks).round().astype(int)] * PX_PER_MM + 50
    return Canal("11", "single", path, **change)


def reference(length=20.5, limit=0.5, **change):
    dense = bent_canal(22.0, 30.0, count=4001)
    path = dense[np.linspace(0, 4000 * length / 22, 12).round().astype(int)] * PX_PER_MM + 50
    return Reference(path, length, limit, "in_canal", **change)


def ways(estimate):
    return {way.code: way for way in narrower(estimate)}


def width(quantity):
    return quantity.high_mm - quantity.low_mm


def test_each_way_narrows_and_keeps_the_value():
    estimate = estimate_length(canal(), reference())
    found = narrower(estimate)
    assert {way.code for way in found} >= {"ruler", "repeat-marks", "straight", "closer", "second-view"}
    for way in found:
        assert width(way.canal_length) < width(estimate.canal_length)
        assert way.canal_length.value_mm == estimate.canal_length.value_mm


def test_what_exposes_the_patient_comes_last_and_is_said():
    exposes = [way.exposes for way in narrower(estimate_length(canal(), reference()))]
    assert exposes == sorted(exposes)
    assert exposes[-1]
    assert not exposes[0]


@pytest.mark.parametrize(
    ("code", "followed"),
    [
        ("ruler", lambda: estimate_length(canal(), reference(limit=0.25))),
        (
            "repeat-marks",
            lambda: estimate_length(canal(), reference(), marking=Marking(0.15, 0.05, 0.05, 0.05)),
        ),
        ("straight", lambda: estimate_length(canal(straight="second view"), reference())),
        ("closer", lambda: estimate_length(canal(), reference(21.5))),
    ],
)
def test_the_prediction_is_what_the_estimate_says_once_it_is_done(code, followed):
    predicted = ways(estimate_length(canal(), reference()))[code].canal_length
    found = followed().canal_length
    assert (predicted.lower_arm, predicted.upper_arm) == pytest.approx(
        (found.lower_arm, found.upper_arm), abs=0.02
    )


def test_more_clicks_are_advised_where_there_are_few_and_the_prediction_holds():
    sharp = replace(canal(4), path_px=tuple(map(tuple, bent_canal(22.0, 60.0, count=4) * PX_PER_MM + 50)))
    spread = Marking(0.05, 0.05, 0.05, 0.3)
    few = estimate_length(sharp, reference(limit=0.05), marking=spread)
    more = ways(few)["more-clicks"].canal_length
    assert width(more) < width(few.canal_length)
    many = replace(sharp, path_px=tuple(map(tuple, bent_canal(22.0, 60.0, count=8) * PX_PER_MM + 50)))
    assert "more-clicks" not in ways(estimate_length(many, reference(), marking=spread))


def test_nothing_is_advised_that_is_done_already():
    estimate = estimate_length(
        canal(9, straight="second view"), reference(21.8, 0.1), marking=Marking(0, 0, 0, 0)
    )
    assert ways(estimate) == {}


def test_without_an_instrument_in_the_canal_one_is_advised():
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=1 / 40, column_mm=1 / 40)
    found = ways(estimate_length(canal(), radiograph=radiograph))
    assert found["in-canal"].exposes
    assert "closer" not in found
    assert "straight" not in found


@pytest.mark.parametrize("scale", ["header", "beside"])
def test_an_instrument_in_the_canal_gives_what_was_predicted(scale):
    """It is read on a ruler, its tip is a mark more, and its stop is the reference point's."""
    pixels = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=1 / 40, column_mm=1 / 40)
    beside = replace(reference(20.5, 0.25), placement="beside")
    found = estimate_length(canal(), None if scale == "header" else beside, radiograph=pixels)
    predicted = ways(found)["in-canal"].canal_length
    followed = estimate_length(canal(), reference(21.5, 0.25)).canal_length
    assert (predicted.lower_arm, predicted.upper_arm) == pytest.approx(
        (followed.lower_arm, followed.upper_arm), abs=0.06
    )


@pytest.mark.parametrize(("scale", "needed"), [("header", True), ("beside", True), ("in_canal", False)])
def test_a_second_view_is_advised_with_what_it_needs(scale, needed):
    """Two views without a marker refuse where no instrument of known length lies in a canal."""
    pixels = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=1 / 40, column_mm=1 / 40)
    measured_by = None if scale == "header" else replace(reference(20.5, 0.25), placement=scale)
    way = ways(estimate_length(canal(), measured_by, radiograph=pixels))["second-view"]
    assert ("instrument of known length" in way.words) is needed


def test_plain_data_says_what_it_costs():
    data = [way.as_dict() for way in narrower(estimate_length(canal(), reference()))]
    assert (data[0]["needs_an_exposure"], data[-1]["needs_an_exposure"]) == (False, True)
    assert all(one["low_mm"] < one["high_mm"] for one in data)
