import pytest

from radlength.trade import CAUTION, CAUTION_SHORT, NOT_CONFIRMED, magnification_prior


@pytest.mark.parametrize(
    "part",
    [
        "An estimate",
        "not a cleared medical device",
        "Apex locator",
        "radiographic confirmation",
        "decision",
        "clinician's",
        "Local codes and licensed practice come first",
    ],
)
def test_the_caution_says_it_all(part):
    assert part in CAUTION


def test_the_short_caution_is_one_line_that_leaves_the_decision_where_it_is():
    assert "\n" not in CAUTION + CAUTION_SHORT
    assert len(CAUTION_SHORT) <= 100
    assert all(part in CAUTION_SHORT for part in ("Estimate only", "apex locator", "clinician's"))


def test_what_is_not_confirmed_says_so():
    assert NOT_CONFIRMED == "estimate, not confirmed"


def test_the_usual_magnification_is_never_odd():
    prior = magnification_prior()
    assert 1.0 == prior.odd_low < prior.low < prior.high < prior.odd_high == 1.3
    assert "Lazzerini 1996" in prior.source
