"""Lengths by several methods at one end point: compared with what they share, never decided on."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.errors import MarkError, TradeError
from radlength.length.reconcile import reconcile
from radlength.length.reconcile_mean import CONSISTENT_P, combine
from radlength.length.reconcile_readings import Reading, covariance, linear, to_apex
from radlength.quantity import Quantity
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty.budget import Z95

APEX = "radiographic apex"


def normal(value, u):
    return Quantity(value, u, value - Z95 * u, value + Z95 * u)


def reading(name, value, u=0.2, **more):
    return Reading(name, normal(value, u), more.pop("landmark", APEX), more.pop("short_mm", 0.0), **more)


def test_a_stated_distance_is_added_exactly():
    moved = to_apex(reading("a", 20.0, short_mm=1.5), "46")
    assert moved.length.value == 21.5
    assert moved.length.u == 0.2
    assert moved.landmark == APEX
    assert moved.short_mm == 0.0


def test_a_landmark_brings_its_distance_and_its_uncertainty():
    moved = to_apex(reading("a", 20.0, landmark="apical foramen"), "11")
    assert moved.length.value == pytest.approx(20.39)
    assert moved.length.u == pytest.approx(math.hypot(0.2, 0.39 / math.sqrt(3)))
    assert moved.shared == {"foramen to radiographic apex": pytest.approx(0.39 / math.sqrt(3))}


def test_e_n_of_two_independent_lengths():
    found = reconcile([reading("a", 21.0, 0.3), reading("b", 22.0, 0.4)], "46")
    assert found.pairs[0].e_n == pytest.approx(1.0 / (Z95 * 0.5))
    assert found.pairs[0].difference.value == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("apart", "code"), [(0.99, "values-agree"), (1.01, "values-conflict")], ids=["agree", "conflict"]
)
def test_one_is_the_edge_of_agreement(apart, code):
    found = reconcile([reading("a", 21.0, 0.3), reading("b", 21.0 + apart * Z95 * 0.5, 0.4)], "46")
    assert [finding.code for finding in found.findings] == [code]


def test_a_conflict_is_serious_and_between_stages_a_question():
    pair = [reading("a", 21.0, stage="before flaring"), reading("b", 23.0, stage="before flaring")]
    assert reconcile(pair, "46").findings[0].severity == "serious"
    later = [pair[0], reading("b", 23.0, stage="after flaring")]
    assert reconcile(later, "46").findings[0].code == "values-changed"


def test_changes_between_stages_are_one_finding_and_conflicts_each_their_own():
    stages = ("before flaring", "after flaring", "after flaring")
    given = [reading(str(n), 21.0 + 2 * n, stage=stage) for n, stage in enumerate(stages)]
    found = reconcile(given, "46").findings
    assert [finding.code for finding in found] == ["values-conflict", "values-changed"]
    assert "and 1 pair like it" in found[1].sentence


def test_what_is_shared_cancels_in_a_difference():
    apart = [reading("a", 21.0, 0.5), reading("b", 22.0, 0.5)]
    shared = [reading("a", 21.0, 0.5, shared={"ruler": 0.4}), reading("b", 22.0, 0.5, shared={"ruler": 0.4})]
    alone, together = reconcile(apart, "46").pairs[0], reconcile(shared, "46").pairs[0]
    assert together.difference.u == pytest.approx(math.sqrt(2) * 0.3)
    assert together.e_n > alone.e_n
    assert alone.difference.u == pytest.approx(math.sqrt(2) * 0.5)


def test_the_distance_of_one_landmark_cancels_between_two_lengths_to_it():
    two = [reading("a", 20.0, landmark="apical foramen"), reading("b", 20.4, landmark="apical foramen")]
    assert reconcile(two, "46").pairs[0].difference.u == pytest.approx(math.sqrt(2) * 0.2)


def test_what_is_shared_stays_in_a_sum():
    two = [reading("a", 21.0, 0.5, shared={"ruler": 0.4}), reading("b", 22.0, 0.5, shared={"ruler": 0.4})]
    assert linear(two, [0.5, 0.5]).u == pytest.approx(math.sqrt(0.4**2 + 0.3**2 / 2))


def test_the_arm_that_faces_the_other_length_counts():
    long_above = Reading("a", Quantity(21.0, 0.4, 20.9, 22.4), APEX)
    higher, lower = reading("b", 22.0, 0.01), reading("c", 20.0, 0.01)
    above = reconcile([long_above, higher], "46").pairs[0]
    below = reconcile([long_above, lower], "46").pairs[0]
    assert above.e_n == pytest.approx(1.0 / math.hypot(1.4, Z95 * 0.01))
    assert below.e_n == pytest.approx(1.0 / math.hypot(0.1, Z95 * 0.01))
    assert above.e_n < 1 < below.e_n


def test_the_order_of_two_lengths_does_not_matter():
    one, other = Reading("a", Quantity(21.0, 0.4, 20.9, 22.4), APEX), reading("b", 22.0, 0.1)
    assert reconcile([one, other], "46").pairs[0].e_n == pytest.approx(
        reconcile([other, one], "46").pairs[0].e_n
    )


@pytest.mark.parametrize(("tooth", "holds"), [("85", True), ("46", False)], ids=["deciduous", "open-apex"])
def test_without_a_table_only_lengths_to_one_landmark_are_compared(tooth, holds):
    given = [
        reading("image", 21.0),
        reading("first locator", 20.0, landmark="apical foramen"),
        reading("second locator", 20.2, landmark="apical foramen", short_mm=0.5),
    ]
    found = reconcile(given, tooth, table_holds=holds)
    assert [moved is None for moved in found.at_apex] == [False, True, True]
    assert [(pair.first, pair.second) for pair in found.pairs] == [("first locator", "second locator")]
    assert found.pairs[0].difference.value == pytest.approx(0.7)
    assert found.findings[0].code == "values-not-converted"


def test_an_unknown_landmark_is_refused():
    with pytest.raises(TradeError, match="landmark 'the end' is unknown"):
        to_apex(reading("a", 20.0, landmark="the end"), "46")


@pytest.mark.parametrize("shared", [{}, {"ruler": 0.2}], ids=["exact", "all-shared"])
def test_a_length_without_an_uncertainty_of_its_own_is_refused(shared):
    u = 0.2 if shared else 0.0
    with pytest.raises(MarkError, match="state the limit to which it was read"):
        Reading("a", normal(20.0, u), APEX, 0.0, shared)


def test_a_mean_says_its_weights_and_its_consistency():
    mean = combine(reconcile([reading("a", 21.0, 0.3), reading("b", 21.6, 0.6)], "46"))
    assert mean.weights == (pytest.approx(0.8), pytest.approx(0.2))
    assert mean.length.value == pytest.approx(21.12)
    assert mean.length.u == pytest.approx(1 / math.sqrt(1 / 0.09 + 1 / 0.36))
    assert mean.chi_square == pytest.approx(0.36 / 0.45)
    assert mean.probability == pytest.approx(math.erfc(math.sqrt(0.36 / 0.45 / 2)))
    assert mean.findings == ()


def test_a_mean_of_a_conflict_is_serious():
    mean = combine(reconcile([reading("a", 21.0), reading("b", 25.0)], "46"))
    assert [finding.code for finding in mean.findings] == ["mean-of-conflict"]


def test_a_negative_weight_is_said():
    two = [
        reading("a", 21.0, 0.2, shared={"same": 0.19}),
        reading("b", 21.2, 0.8, shared={"same": 0.79}),
    ]
    mean = combine(reconcile(two, "46"))
    assert mean.weights[1] < 0
    assert "mean-negative-weight" in [finding.code for finding in mean.findings]
    assert mean.length.low < mean.length.value < mean.length.high


def test_one_length_has_no_mean():
    with pytest.raises(MarkError, match="two lengths or more"):
        combine(reconcile([reading("a", 21.0)], "46"))


def test_the_covariance_is_symmetric_and_positive():
    rng = np.random.default_rng(5)
    readings = [
        reading(str(n), 20 + n, 0.5, shared={"a": rng.uniform(-0.3, 0.3), "b": 0.1 * n}) for n in range(4)
    ]
    matrix = covariance(readings)
    assert np.allclose(matrix, matrix.T)
    assert np.allclose(np.diag(matrix), 0.25)
    assert (np.linalg.eigvalsh(matrix) > 0).all()


def test_plain_data_carries_status_and_caution():
    found = reconcile([reading("a", 21.0), reading("b", 21.2)], "46")
    for data in (found.as_dict(), combine(found).as_dict()):
        assert data["status"] == NOT_CONFIRMED
        assert data["caution"] == CAUTION


LENGTHS = st.lists(
    st.tuples(st.floats(10, 30), st.floats(0.05, 1.0), st.floats(0.0, 0.5), st.floats(-0.5, 0.5)),
    min_size=2,
    max_size=5,
)
"""Value, own standard uncertainty, and two shared parts, in millimetres."""


def drawn(rows, shift=0.0):
    readings = []
    for number, (value, own, ruler, point) in enumerate(rows):
        u = math.sqrt(own**2 + ruler**2 + point**2)
        length = normal(value + shift, u)
        readings.append(Reading(str(number), length, APEX, 0.0, {"ruler": ruler, "point": point}))
    return readings


@settings(deadline=None)
@given(LENGTHS, st.floats(-4, 4))
def test_a_common_shift_and_the_order_change_no_comparison(rows, shift):
    plain = {(p.first, p.second): p.e_n for p in reconcile(drawn(rows), "46").pairs}
    moved = {(p.first, p.second): p.e_n for p in reconcile(drawn(rows, shift), "46").pairs}
    turned = {(p.second, p.first): p.e_n for p in reconcile(drawn(rows)[::-1], "46").pairs}
    for pair, e_n in plain.items():
        assert moved[pair] == pytest.approx(e_n, rel=1e-6, abs=1e-6)
        assert turned[pair] == pytest.approx(e_n, rel=1e-9, abs=1e-12)


@settings(deadline=None)
@given(LENGTHS)
def test_a_mean_of_values_that_agree_is_never_less_certain_than_its_best_value(rows):
    readings = drawn(rows)
    mean = combine(reconcile(readings, "46"))
    assert sum(mean.weights) == pytest.approx(1.0, abs=1e-6)
    if mean.probability >= CONSISTENT_P:
        assert mean.length.u <= min(reading.length.u for reading in readings) * (1 + 1e-6)
    assert mean.length.low <= mean.length.value <= mean.length.high
    assert 0.0 <= mean.probability <= 1.0
