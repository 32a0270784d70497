"""The loss of length while a canal is prepared, with its interval."""

import math

import pytest

from radlength.errors import MarkError
from radlength.length.reconcile_readings import Reading
from radlength.length.trend import length_trend
from radlength.quantity import Quantity
from radlength.uncertainty.budget import Z95


def reading(name, value, u=0.1, short_mm=0.0, **shared):
    length = Quantity(value, u, value - Z95 * u, value + Z95 * u)
    return Reading(name, length, "radiographic apex", short_mm, shared)


def test_two_lengths_give_their_difference():
    found = length_trend([reading("a", 21.5), reading("b", 21.0)])
    assert found.change.value == pytest.approx(-0.5)
    assert found.change.u == pytest.approx(0.1 * math.sqrt(2))


def test_what_both_share_cancels():
    found = length_trend([reading("a", 21.5, 0.3, ruler=0.25), reading("b", 21.0, 0.3, ruler=0.25)])
    assert found.change.u == pytest.approx(math.sqrt(2) * math.sqrt(0.3**2 - 0.25**2))


def test_three_lengths_on_a_line():
    found = length_trend([reading("a", 21.5), reading("b", 21.25), reading("c", 21.0)])
    assert found.change.value == pytest.approx(-0.5)
    assert found.change.u == pytest.approx(0.1 * math.sqrt(2))


def test_a_less_certain_length_counts_less():
    sure = length_trend([reading("a", 21.5), reading("b", 21.5), reading("c", 21.0)]).change.value
    unsure = length_trend([reading("a", 21.5), reading("b", 21.5), reading("c", 21.0, 5.0)]).change.value
    assert sure == pytest.approx(-0.5)
    assert abs(unsure) < 0.01


@pytest.mark.parametrize(
    ("last", "codes"),
    [(21.5 - 0.277, []), (21.5 - 0.278, ["length-lost"]), (21.5 + 0.278, ["length-gained"])],
    ids=["within", "lost", "gained"],
)
def test_a_loss_is_a_finding_when_the_interval_excludes_none(last, codes):
    found = length_trend([reading("a", 21.5), reading("b", last)], subject="46 MB")
    assert [finding.code for finding in found.findings] == codes
    assert all(finding.subject == "46 MB" for finding in found.findings)


def test_a_single_length_has_no_trend():
    with pytest.raises(MarkError, match="a trend of 1 length; two lengths or more"):
        length_trend([reading("a", 21.5)])


def test_different_ends_are_refused():
    with pytest.raises(MarkError, match="end at different points"):
        length_trend([reading("a", 21.5), reading("b", 20.5, short_mm=1.0)])
