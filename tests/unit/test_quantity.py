import math
import pickle
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from radlength.errors import RadlengthError
from radlength.quantity import Quantity, outward, round_for_stop

lengths = st.floats(-40, 40)
steps = st.sampled_from([0.1, 0.25, 0.5, 1.0])
directions = st.sampled_from(["nearest", "down"])
ALLOWANCE = 2e-9
"""A length this part of a step below a multiple counts as the multiple."""


@st.composite
def quantities(draw):
    low, value, high = sorted(draw(st.lists(st.floats(-1e6, 1e6), min_size=3, max_size=3)))
    return Quantity(value, draw(st.floats(0, 1e3)), low, high, draw(st.sampled_from(["mm", "1"])))


@given(lengths, steps, directions)
def test_a_rounded_length_is_a_multiple_of_the_step(length, step, direction):
    rounded = round_for_stop(length, direction=direction, step_mm=step)
    assert rounded == round(rounded / step) * step


@given(lengths, steps)
def test_rounding_down_never_goes_up_and_loses_less_than_a_step(length, step):
    rounded = round_for_stop(length, direction="down", step_mm=step)
    assert rounded <= length + ALLOWANCE * step
    assert length - rounded < step * (1 + ALLOWANCE)


@given(lengths, steps)
def test_rounding_to_the_nearest_stays_within_half_a_step(length, step):
    rounded = round_for_stop(length, direction="nearest", step_mm=step)
    assert abs(rounded - length) <= step * (0.5 + ALLOWANCE)


@given(lengths, lengths, steps, directions)
def test_a_longer_canal_is_never_rounded_to_a_shorter_stop(one, other, step, direction):
    short, long = sorted((one, other))
    assert round_for_stop(short, direction=direction, step_mm=step) <= round_for_stop(
        long, direction=direction, step_mm=step
    )


@given(lengths, steps, directions)
def test_rounding_again_changes_nothing(length, step, direction):
    once = round_for_stop(length, direction=direction, step_mm=step)
    assert round_for_stop(once, direction=direction, step_mm=step) == once


@given(lengths, steps)
def test_down_is_never_above_nearest(length, step):
    down, nearest = (round_for_stop(length, direction=way, step_mm=step) for way in ("down", "nearest"))
    assert down <= nearest


@pytest.mark.parametrize(
    ("length", "down", "nearest"),
    [
        (20.0, 20.0, 20.0),
        (20.24, 20.0, 20.0),
        (20.25, 20.0, 20.0),
        (20.26, 20.0, 20.5),
        (20.49, 20.0, 20.5),
        (20.5, 20.5, 20.5),
        (20.75, 20.5, 20.5),
        (20.99, 20.5, 21.0),
        (20.3 + 0.2, 20.5, 20.5),
        (21.4 - 0.9, 20.5, 20.5),
    ],
    ids=str,
)
def test_the_edges_of_half_a_millimetre(length, down, nearest):
    assert round_for_stop(length, direction="down") == down
    assert round_for_stop(length, direction="nearest") == nearest


@pytest.mark.parametrize(
    ("length", "step"),
    [
        pytest.param(math.nan, 0.5, id="nan"),
        pytest.param(math.inf, 0.5, id="endless"),
        pytest.param(20.0, 0.0, id="no-step"),
        pytest.param(20.0, -0.5, id="negative-step"),
        pytest.param(20.0, math.inf, id="endless-step"),
        pytest.param(20.0, math.nan, id="nan-step"),
        pytest.param(20.0, 1e-300, id="step-lost"),
        pytest.param(20.0, 5e-324, id="step-overflows"),
        pytest.param("20", 0.5, id="text"),
        pytest.param(None, 0.5, id="nothing"),
        pytest.param(20.0, "0.5", id="step-text"),
    ],
)
@pytest.mark.parametrize("direction", ["nearest", "down"])
def test_what_cannot_be_rounded_is_refused(length, step, direction):
    with pytest.raises(
        RadlengthError, match=r"cannot round .* mm to a step of .* mm; a finite length"
    ) as caught:
        round_for_stop(length, direction=direction, step_mm=step)
    assert caught.value.code == "rounding"


@pytest.mark.parametrize("direction", ["up", "", None])
def test_an_unknown_direction_is_refused(direction):
    with pytest.raises(RadlengthError, match="is unknown; 'nearest' or 'down'"):
        round_for_stop(20.0, direction=direction)


def test_there_is_no_default_direction():
    with pytest.raises(TypeError, match="direction"):
        round_for_stop(20.0)


@given(quantities())
def test_the_arms_reach_from_end_to_end(quantity):
    assert quantity.lower_arm >= 0
    assert quantity.upper_arm >= 0
    assert quantity.lower_arm + quantity.upper_arm == pytest.approx(quantity.high - quantity.low, abs=1e-6)


@given(quantities(), st.floats(-100, 100))
def test_an_exact_amount_moves_the_value_and_leaves_the_uncertainty(quantity, by):
    moved = quantity.shifted(by)
    assert moved.u == quantity.u
    assert moved.unit == quantity.unit
    assert (moved.value, moved.low, moved.high) == (
        quantity.value + by,
        quantity.low + by,
        quantity.high + by,
    )


@given(quantities())
def test_a_quantity_survives_a_worker_process(quantity):
    assert pickle.loads(pickle.dumps(quantity)) == quantity  # noqa: S301


@given(st.lists(st.floats(-100, 100), min_size=4, max_size=4))
def test_an_interval_that_does_not_hold_its_value_is_refused(parts):
    value, u, low, high = parts
    assume(u < 0 or not low <= value <= high)
    with pytest.raises(RadlengthError, match=r"does not hold the value .*low <= value <= high") as caught:
        Quantity(value, u, low, high)
    assert caught.value.code == "quantity-interval"


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_a_part_that_is_no_number_is_refused(place, wrong):
    parts = [20.0, 0.2, 19.5, 20.5]
    parts[place] = wrong
    with pytest.raises(RadlengthError, match="must be finite") as caught:
        Quantity(*parts)
    assert caught.value.code == "quantity-not-finite"


def test_another_unit_is_refused():
    with pytest.raises(RadlengthError, match="a quantity in 'cm'; 'mm', or '1' for a ratio"):
        Quantity(2.0, 0.1, 1.9, 2.1, "cm")


@pytest.mark.parametrize("part", ["value_mm", "u_mm", "low_mm", "high_mm"])
def test_only_a_length_has_millimetres(part):
    name = part.removesuffix("_mm")
    assert getattr(Quantity(20.0, 0.2, 19.5, 20.6), part) == getattr(Quantity(20.0, 0.2, 19.5, 20.6), name)
    with pytest.raises(RadlengthError, match=r"a ratio of 1\.05 has no millimetres"):
        getattr(Quantity(1.05, 0.01, 1.03, 1.07, "1"), part)


def test_plain_data_carries_the_unit_in_every_key():
    assert Quantity(20.0, 0.2, 19.5, 20.6).as_dict() == {
        "value_mm": 20.0, "u_mm": 0.2, "low_mm": 19.5, "high_mm": 20.6, "coverage": "95 %",
    }  # fmt: skip
    assert set(Quantity(1.05, 0.01, 1.03, 1.07, "1").as_dict()) == {"value", "u", "low", "high", "coverage"}


@pytest.mark.parametrize(
    ("quantity", "words"),
    [
        pytest.param(Quantity(20.71, 0.2, 20.31, 21.18), "20.7 mm (20.3–21.2)", id="length"),
        pytest.param(Quantity(1.0519, 0.01, 1.0436, 1.06, "1"), "1.052 (1.043–1.060)", id="ratio"),
        pytest.param(Quantity(-0.01, 0.1, -0.04, 0.2), "0.0 mm (-0.1–0.2)", id="perhaps-beyond"),
        pytest.param(Quantity(-0.01, 0.1, -0.14, -0.01), "0.0 mm (-0.2–0.0)", id="no-negative-zero"),
        pytest.param(Quantity(20.04, 0.01, 20.01, 20.049), "20.0 mm (20.0–20.1)", id="narrow"),
        pytest.param(Quantity(21.0, 0.3, 20.7 - 4e-15, 21.7 + 4e-15), "21.0 mm (20.7–21.7)", id="last-bits"),
        pytest.param(Quantity(-0.5, 0.1, -0.7, -0.3), "-0.5 mm (-0.7–-0.3)", id="beyond"),
    ],
)
def test_words(quantity, words):
    assert str(quantity) == words


@pytest.mark.parametrize("places", [0, 1, 3])
def test_a_shown_interval_holds_all_of_it_and_is_no_wider_than_a_step_more(places):
    step = 10.0**-places
    for low in np.random.default_rng(places).uniform(-2, 30, 300):
        high = low + 0.37
        shown = outward(low, high, places)
        assert shown[0] <= low + 1e-6 * step
        assert low - shown[0] < step
        assert shown[1] >= high - 1e-6 * step
        assert shown[1] - high < step
        assert shown == pytest.approx([round(one / step) * step for one in shown])


def test_a_quantity_does_not_change():
    with pytest.raises(FrozenInstanceError, match="cannot assign"):
        Quantity(20.0, 0.2, 19.5, 20.5).value = 21.0
