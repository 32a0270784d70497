"""Lengths of one image are no two proofs: a mean takes each image once, and says so."""

import numpy as np
import pytest

from radlength.length.reconcile import reconcile
from radlength.length.reconcile_mean import combine, each_image_once
from radlength.length.reconcile_readings import Reading
from radlength.quantity import Quantity
from radlength.uncertainty.budget import Z95

APEX = "radiographic apex"


def reading(name, value, u, *images):
    length = Quantity(value, u, value - Z95 * u, value + Z95 * u)
    return Reading(name, length, APEX, images=frozenset(images))


ESTIMATE = reading("estimate", 21.0, 0.40, "image 1")
CONFIRMATION = reading("confirmation", 21.2, 0.38, "image 1")
LOCATOR = reading("locator", 21.6, 0.5)


def codes(findings):
    return [finding.code for finding in findings]


def test_estimate_and_confirmation_of_one_image_are_as_sure_as_the_surer():
    mean = combine(reconcile([ESTIMATE, CONFIRMATION], "11"))
    assert (mean.length.value, mean.length.u) == pytest.approx((21.2, 0.38))
    assert (mean.length.low, mean.length.high) == pytest.approx(
        (CONFIRMATION.length.low, CONFIRMATION.length.high)
    )
    assert mean.weights == (0.0, 1.0)
    assert (mean.freedom, mean.probability) == (0, 1.0)
    assert codes(mean.findings) == ["mean-image-once"]
    assert "no mean, but confirmation alone" in mean.findings[0].sentence


def test_beside_another_method_the_image_counts_once():
    mean = combine(reconcile([ESTIMATE, CONFIRMATION, LOCATOR], "11"))
    without = combine(reconcile([CONFIRMATION, LOCATOR], "11"))
    assert mean.length == without.length
    assert mean.weights == (0.0, *without.weights)
    assert mean.freedom == 1
    assert "Not in the mean: estimate" in mean.findings[-1].sentence


@pytest.mark.parametrize("less", [0.38, 0.4, 0.8])
def test_the_weights_are_those_of_the_stated_covariance(less):
    """JCGM 100:2008, 5.2.2, equation 13, recomputed with numpy: covariance the smaller variance, weights 1 and 0."""
    sure, u = 0.38, np.array([less, 0.38, 0.5])
    stated = np.diag(u**2)
    stated[0, 1] = stated[1, 0] = sure**2
    stated[0, 0] += 1e-12  # equally sure and fully correlated is singular
    inverse = np.linalg.inv(stated)
    weights = inverse.sum(axis=1) / inverse.sum()
    mean = combine(reconcile([reading("estimate", 21.0, less, "image 1"), CONFIRMATION, LOCATOR], "11"))
    if less > sure:
        assert mean.weights == pytest.approx(tuple(weights), abs=1e-6)
    assert mean.length.u == pytest.approx(np.sqrt(weights @ stated @ weights), abs=1e-6)


def test_two_views_share_both_their_images():
    other = reading("other estimate", 21.1, 0.45, "image 2")
    views = reading("views", 21.3, 0.3, "image 1", "image 2")
    assert each_image_once([ESTIMATE, other, views]) == (views,)
    unsure = reading("views", 21.3, 0.9, "image 1", "image 2")
    assert each_image_once([ESTIMATE, other, unsure]) == (ESTIMATE, other)


def test_lengths_without_an_image_are_left_as_they_are():
    plain = [reading("a", 21.0, 0.3), reading("b", 21.6, 0.6)]
    mean = combine(reconcile(plain, "46"))
    assert mean.weights == pytest.approx((0.8, 0.2))
    assert mean.findings == ()


def test_side_by_side_it_is_said_that_they_are_of_one_image():
    found = reconcile([ESTIMATE, CONFIRMATION, LOCATOR], "11")
    told = [finding for finding in found.findings if finding.code == "values-of-one-image"]
    assert [finding.severity for finding in told] == ["note"]
    assert told[0].sentence.startswith("estimate, confirmation were measured on one image")
    assert "values-of-one-image" not in codes(reconcile([ESTIMATE, LOCATOR], "11").findings)
