"""Many lengths of one canal: how far apart chance puts them, and the spread of a mean of values that do not agree.

Oracles: `statsmodels` (weighted least squares of one constant, whose standard error is scaled by chi-square over its
degrees of freedom); Tukey's studentised range, printed 5 % points for infinite degrees of freedom 3.31 (3 values), 3.86
(5) and 4.29 (8), handbook tables, from memory, recomputed.
"""

import math

import numpy as np
import pytest

from radlength.length.reconcile import reconcile
from radlength.length.reconcile_mean import combine
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.uncertainty.budget import Z95

APART = [*[20.6] * 5, *[21.4] * 5]
SPREAD = [0.3, 0.31] * 5
"""Two groups 0.8 mm apart: no two disagree by themselves, all together do. Invented."""


def readings(values, spreads):
    return [
        Reading(str(place), Quantity(v, u, v - Z95 * u, v + Z95 * u), "radiographic apex")
        for place, (v, u) in enumerate(zip(values, spreads, strict=True))
    ]


def test_a_mean_of_values_that_scatter_too_much_is_widened_as_least_squares_does():
    statsmodels = pytest.importorskip("statsmodels.api")
    found = reconcile(readings(APART, SPREAD), "11")
    assert [finding.code for finding in found.findings] == ["values-agree"]
    mean = combine(found)
    peer = statsmodels.WLS(APART, np.ones(len(APART)), weights=np.array(SPREAD) ** -2.0).fit()
    assert mean.length.value == pytest.approx(peer.params[0], rel=1e-12)
    assert mean.length.u == pytest.approx(peer.bse[0], rel=1e-9)
    assert mean.length.upper_arm == pytest.approx(Z95 * peer.bse[0], rel=1e-5)
    assert [finding.code for finding in mean.findings] == ["mean-inconsistent"]


def test_a_mean_of_values_that_agree_is_never_narrower_than_their_spreads_say():
    mean = combine(reconcile(readings([21.0, 21.0, 21.01], [0.3, 0.3, 0.3]), "11"))
    assert mean.length.u == pytest.approx(0.3 / math.sqrt(3), rel=1e-12)
    assert mean.findings == ()


def test_a_mean_of_values_in_conflict_is_widened_too():
    mean = combine(reconcile(readings([20.0, 22.0], [0.3, 0.3]), "11"))
    assert [finding.code for finding in mean.findings] == ["mean-of-conflict"]
    assert mean.length.u == pytest.approx(1.0, rel=1e-9)  # half of what they are apart


@pytest.mark.parametrize(("count", "range95"), [(3, 3.314), (5, 3.858), (8, 4.286)])
def test_how_often_chance_puts_two_of_many_so_far_apart_is_told(count, range95):
    """A pair beyond its interval (range 2.772) is a find among two values, and no wonder among eight."""
    conflicts = []
    for apart in (range95 - 0.02, range95 + 0.02):
        values = [21.0, 21.0 + 0.3 * apart, *[21.0 + 0.15 * apart] * (count - 2)]
        found = reconcile(readings(values, [0.3] * count), "11").findings
        conflicts.append(next(finding for finding in found if finding.code == "values-conflict"))
    assert "chance alone puts one so far apart in 5 of 100 canals" in conflicts[0].sentence
    assert "chance" not in conflicts[1].sentence
    assert {finding.severity for finding in conflicts} == {"serious"}


def test_so_often_they_do_lie_apart():
    """Five sound lengths, simulated: 29 of 100 canals have a conflict."""
    rng = np.random.default_rng(260805)
    hits = sum(
        reconcile(readings(rng.normal(21, 0.3, 5), [0.3] * 5), "11").findings[0].code == "values-conflict"
        for _ in range(1000)
    )
    assert hits == pytest.approx(286, abs=2 * math.sqrt(1000 * 0.286 * 0.714))
