"""Lengths of one image are no two proofs: a mean takes each image once, and says so."""

import numpy as np
import pytest

from radlength.length.reconcile import reconcile
from radlength.length.reconcile_mean import combine, each_image_once
from radlength.length.reconcile_readings import Reading, linear
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


def leaning(name, value, low_arm, hidden, *images):
    """A length whose upper arm holds what one view hides, with u as a budget of the same arms gives it."""
    upper = float(np.hypot(low_arm, hidden))
    length = Quantity(value, float(np.hypot(low_arm, upper)) / Z95 / 2**0.5, value - low_arm, value + upper)
    return Reading(name, length, APEX, images=frozenset(images))


def test_what_one_view_hides_is_hidden_on_every_image():
    """Two images equally sure: their marks are averaged, 1/sqrt(2), the bend along the beam that both hide is not."""
    one, other = leaning("one", 21.0, 0.4, 1.2, "image 1"), leaning("other", 21.0, 0.4, 1.2, "image 2")
    mean = combine(reconcile([one, other], "11")).length
    assert mean.lower_arm == pytest.approx(0.4 / 2**0.5)
    assert mean.upper_arm == pytest.approx(np.hypot(0.4 / 2**0.5, 1.2))
    assert mean.u == pytest.approx(np.hypot(mean.lower_arm, mean.upper_arm) / Z95 / 2**0.5)


def test_what_every_image_may_read_too_long_is_counted_alike_too():
    """Instruments beyond the apex: the lower arm, the dangerous one, is not averaged either."""
    turned = [
        Reading(
            name,
            Quantity(21.0, np.hypot(1.2, 0.4) / Z95 / 2**0.5, 19.8, 21.4),
            APEX,
            images=frozenset({name}),
        )
        for name in ("one", "other")
    ]
    mean = combine(reconcile(turned, "11")).length
    assert mean.upper_arm == pytest.approx(0.4 / 2**0.5)
    assert mean.lower_arm == pytest.approx(np.hypot(0.4 / 2**0.5, np.sqrt(1.2**2 - 0.4**2)))
    assert mean.u == pytest.approx(np.hypot(mean.lower_arm, mean.upper_arm) / Z95 / 2**0.5)


def test_four_images_from_one_direction_are_no_surer_about_it_than_one():
    many = [leaning(str(n), 21.0, 0.1, 1.2, f"image {n}") for n in range(4)]
    assert combine(reconcile(many, "11")).length.upper_arm > 1.2


def test_a_method_without_an_image_hides_nothing_of_it():
    """Only the part of the image's own weight is left: the locator does not see along a beam."""
    image, locator = leaning("image", 21.0, 0.4, 1.2, "image 1"), reading("locator", 21.0, 0.25)
    found = combine(reconcile([image, locator], "11"))
    upper = np.hypot(found.weights[0] * image.length.upper_arm, found.weights[1] * locator.length.upper_arm)
    assert found.length.upper_arm == pytest.approx(upper)
    plain = [leaning("a", 21.0, 0.4, 1.2), leaning("b", 21.0, 0.4, 1.2)]
    assert combine(reconcile(plain, "11")).length.upper_arm == pytest.approx(np.hypot(0.4, 1.2) / 2**0.5)


def test_an_image_whose_weight_is_negative_does_not_take_the_doubt_away():
    """A bad length that shares nearly all its error with a good one has one: its hidden part is not subtracted."""
    one = leaning("one", 21.0, 0.4, 1.2, "image 1")
    shared = [
        Reading("a", Quantity(21.0, 0.4, 20.2, 21.8), APEX, 0.0, {"ruler": 0.35}),
        Reading("b", Quantity(21.0, 0.9, 19.9, 22.4), APEX, 0.0, {"ruler": 0.85}, "", frozenset({"image 2"})),
    ]
    found = combine(reconcile([one, *shared], "11"))
    assert found.weights[2] < 0
    assert found.length.upper_arm == pytest.approx(linear([one, *shared], found.weights).upper_arm)


@pytest.mark.parametrize("images", [2, 4])
def test_the_mean_of_images_holds_a_length_that_all_of_them_shorten_alike(images):
    """One hidden shortening a canal, half of a normal distribution; marks anew on each image (seed of this test)."""
    rng, low_arm, hidden, above = np.random.default_rng(images), 0.4, 1.2, 0
    for _ in range(400):
        short = abs(rng.normal(0.0, hidden / Z95))
        read = 21.0 - short + rng.normal(0.0, low_arm / Z95, images)
        lengths = [leaning(str(n), value, low_arm, hidden, f"image {n}") for n, value in enumerate(read)]
        above += combine(reconcile(lengths, "11")).length.high < 21.0
    assert above <= 32  # 0.05 and three standard errors; as if each image hid something else: 0.2 to 0.4
