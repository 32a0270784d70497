import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.trade import LENGTH_TOLERANCE_STATUS, SIZES, colour, diameter_mm


def test_sizes_rise():
    assert list(SIZES) == sorted(set(SIZES))
    assert (SIZES[0], SIZES[-1], len(SIZES)) == (6, 140, 21)


@pytest.mark.parametrize("size", SIZES)
def test_a_colour_never_stands_without_its_number(size):
    number, name = colour(size).split()
    assert int(number) == size
    assert name.isalpha()


@pytest.mark.parametrize("size", [0, 7, 12, 65, 150, -10])
def test_an_unknown_size_lists_the_sizes_there_are(size):
    with pytest.raises(
        TradeError, match=f"size {size} is not a standard size; 6, 8, 10, 15, .* 140; give the"
    ):
        colour(size)


@given(st.sampled_from(SIZES), st.floats(0, 0.2), st.floats(0, 31), st.floats(0, 31))
def test_an_instrument_never_gets_thinner_away_from_its_tip(size, taper, one, other):
    near, far = sorted((one, other))
    assert size / 100 <= diameter_mm(size, taper, near) <= diameter_mm(size, taper, far)


@pytest.mark.parametrize(
    ("size", "taper", "at"),
    [
        pytest.param(0, 0.02, 1, id="no-size"),
        pytest.param(25, -0.02, 1, id="negative-taper"),
        pytest.param(25, 2, 1, id="taper-in-percent"),
        pytest.param(25, 0.02, -0.1, id="beyond-the-tip"),
        pytest.param(25, 0.02, math.nan, id="nan-distance"),
        pytest.param(25, 0.02, math.inf, id="endless"),
        pytest.param(25, math.nan, 1, id="nan-taper"),
        pytest.param(math.nan, 0.02, 1, id="nan-size"),
    ],
)
def test_a_shape_that_is_no_instrument_is_refused(size, taper, at):
    with pytest.raises(TradeError, match=r"a positive size, a taper of 0 to 0\.2 mm per mm") as caught:
        diameter_mm(size, taper, at)
    assert caught.value.code == "instrument-shape"


def test_the_limit_of_a_stamped_length_is_not_looked_up():
    assert LENGTH_TOLERANCE_STATUS == "from memory"
