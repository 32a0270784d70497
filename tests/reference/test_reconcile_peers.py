"""Comparison and weighted mean of lengths against two general libraries: `uncertainties` and `metrolopy`."""

import math

import numpy as np
import pytest
import uncertainties

from radlength.length.reconcile import reconcile
from radlength.length.reconcile_mean import combine
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.uncertainty.budget import Z95

metrolopy = pytest.importorskip("metrolopy")
CASES = [
    [(21.4, 0.30, 0.0, 0.0), (21.9, 0.25, 0.0, 0.0)],
    [(21.4, 0.30, 0.20, 0.0), (21.9, 0.25, 0.20, 0.0)],
    [(21.4, 0.30, 0.10, 0.15), (21.9, 0.25, 0.10, 0.0), (20.8, 0.40, 0.0, 0.15)],
    [(20.0, 0.10, 0.05, 0.05), (20.3, 0.60, 0.30, 0.2), (19.9, 0.20, 0.1, 0.0), (20.1, 0.15, 0.0, 0.1)],
]
"""Value, own standard uncertainty, part of the ruler, part of the reference point; in millimetres. Invented."""
IDS = ["independent", "one-ruler", "ruler-and-point", "four"]


def _readings(rows):
    readings = []
    for number, (value, own, ruler, point) in enumerate(rows):
        u = math.sqrt(own**2 + ruler**2 + point**2)
        length = Quantity(value, u, value - Z95 * u, value + Z95 * u)
        shared = {"ruler": ruler, "point": point}
        readings.append(Reading(str(number), length, "radiographic apex", 0.0, shared))
    return readings


def _with_uncertainties(rows):
    ruler, point = uncertainties.ufloat(0, 1), uncertainties.ufloat(0, 1)
    return [uncertainties.ufloat(v, own) + a * ruler + b * point for v, own, a, b in rows]


@pytest.mark.parametrize("rows", CASES, ids=IDS)
def test_e_n_is_the_difference_over_its_expanded_uncertainty(rows):
    peers = _with_uncertainties(rows)
    found = reconcile(_readings(rows), "46")
    for pair in found.pairs:
        difference = peers[int(pair.second)] - peers[int(pair.first)]
        expected = abs(difference.nominal_value) / (Z95 * difference.std_dev)
        assert pair.e_n == pytest.approx(expected, rel=1e-12)
        assert pair.difference.u == pytest.approx(difference.std_dev, rel=1e-12)


@pytest.mark.parametrize("rows", CASES, ids=IDS)
def test_the_same_differences_from_metrolopy(rows):
    ruler, point = metrolopy.gummy(0, 1), metrolopy.gummy(0, 1)
    peers = [metrolopy.gummy(v, own) + a * ruler + b * point for v, own, a, b in rows]
    for pair in reconcile(_readings(rows), "46").pairs:
        difference = peers[int(pair.second)] - peers[int(pair.first)]
        assert pair.difference.u == pytest.approx(difference.u, rel=1e-9)
        assert pair.difference.value == pytest.approx(difference.x, rel=1e-9)


@pytest.mark.parametrize("rows", CASES, ids=IDS)
def test_the_weighted_mean_has_the_least_uncertainty_and_says_it(rows):
    peers = _with_uncertainties(rows)
    mean = combine(reconcile(_readings(rows), "46"))
    peer = sum(weight * value for weight, value in zip(mean.weights, peers, strict=True))
    assert mean.length.value == pytest.approx(peer.nominal_value, rel=1e-12)
    assert mean.length.u == pytest.approx(peer.std_dev, rel=1e-9)
    matrix = np.array(uncertainties.covariance_matrix(peers))
    ones = np.ones(len(rows))
    least = 1 / math.sqrt(ones @ np.linalg.solve(matrix, ones))
    assert mean.length.u == pytest.approx(least, rel=1e-9)
    rng = np.random.default_rng(7)
    for _ in range(20):
        other = np.array(mean.weights) + 0.1 * (step := rng.normal(size=len(rows))) - 0.1 * step.mean()
        assert math.sqrt(other @ matrix @ other) >= mean.length.u - 1e-12
