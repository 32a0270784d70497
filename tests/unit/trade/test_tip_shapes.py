"""How far a point reaches beyond its edge: the table, what is not known, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from radlength.errors import TradeError
from radlength.trade import TIP_FORMS, tip_offset
from radlength.trade.tip_shapes import _MM, BEHIND_MM, TAPERS, USUAL_SIZES


@pytest.mark.parametrize("form", TIP_FORMS)
def test_rows_of_the_table_come_out_as_they_stand(form):
    for size, row in _MM[form].items():
        for taper, mm in zip(TAPERS, row[:-1], strict=True):
            found = tip_offset(size, taper, form)
            assert found.mm == pytest.approx(mm)
            assert math.hypot(BEHIND_MM, row[-1]) - 1e-12 <= found.u_mm < 0.03


def test_between_rows_and_columns_it_is_straight():
    low, high = tip_offset(15, 0.02, "cone").mm, tip_offset(20, 0.02, "cone").mm
    assert tip_offset(17.5, 0.02, "cone").mm == pytest.approx((low + high) / 2)
    low, high = tip_offset(8, 0.02, "cone").mm, tip_offset(8, 0.04, "cone").mm
    assert tip_offset(8, 0.03, "cone").mm == pytest.approx((low + high) / 2)
    assert tip_offset(80, 0.06, "cone").mm == pytest.approx(_MM["cone"][80][2])


def test_a_taper_beyond_the_columns_counts_as_the_nearest():
    assert tip_offset(25, 0.12, "cone") == tip_offset(25, 0.06, "cone")
    assert tip_offset(25, 0.0, "cone") == tip_offset(25, 0.02, "cone")


def test_offsets_are_about_the_steel_that_is_missing():
    """The integral of 1 - (d(x) / d)^2: two thirds of a cone, a third of the radius of half a ball.

    Computed here; the table was rendered. Thin points fade more into unsharpness, thick ones saturate the logarithm.
    """
    for size in (15, 20, 25, 30):
        diameter = size / 100
        cone = 2 / 3 * diameter / 2 / math.tan(math.radians(37.5))
        assert tip_offset(size, 0.02, "cone").mm == pytest.approx(cone, abs=0.02)
        assert tip_offset(size, 0.02, "short cone").mm == pytest.approx(2 / 3 * 0.15, abs=0.02)
        assert tip_offset(size, 0.02, "rounded").mm == pytest.approx(diameter / 6, abs=0.02)


def test_what_is_not_known_makes_the_uncertainty_larger():
    known, form, size, nothing = (
        tip_offset(20, 0.02, "cone"),
        tip_offset(20, 0.02),
        tip_offset(tip_form="cone"),
        tip_offset(),
    )
    assert known.u_mm < min(form.u_mm, size.u_mm)
    assert max(form.u_mm, size.u_mm) <= nothing.u_mm
    assert "unknown form" in form.words
    assert "unknown size" in size.words


def test_an_unknown_form_counts_as_a_rectangle_over_all():
    values = [tip_offset(25, 0.02, form).mm for form in TIP_FORMS]
    unknown = tip_offset(25, 0.02)
    assert min(values) <= unknown.mm <= max(values)
    assert unknown.u_mm > np.ptp(values) / (2 * math.sqrt(3))
    assert USUAL_SIZES[0] < 25 < USUAL_SIZES[1]


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"tip_form": "square"}, "tip-form"),
        ({"size": 5}, "tip-size"),
        ({"size": 100}, "tip-size"),
        ({"size": math.nan}, "tip-size"),
        ({"taper": -0.01}, "tip-taper"),
        ({"taper": 0.5}, "tip-taper"),
        ({"taper": math.nan}, "tip-taper"),
    ],
    ids=str,
)
def test_what_is_not_in_the_table_is_refused(given, code):
    with pytest.raises(TradeError, match=r"leave it out|hand instrument") as caught:
        tip_offset(**given)
    assert caught.value.code == code
