"""Many lengths of one canal: every pair as if compared by itself, found without comparing each."""

import json
import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.length.reconcile import MOST_TOLD, reconcile
from radlength.length.reconcile_pairs import Pairs
from radlength.length.reconcile_readings import Reading, linear
from radlength.quantity import Quantity

APEX, FORAMEN = "radiographic apex", "apical foramen"
ROW = st.tuples(
    st.floats(19, 23),
    st.floats(0.05, 0.6),
    st.dictionaries(st.sampled_from(["ruler", "point", "table"]), st.floats(-0.3, 0.3)),
    st.sampled_from(["before", "after"]),
    st.sampled_from([APEX, FORAMEN]),
    st.floats(0.5, 1.5),
)
"""Value, own standard uncertainty, shared parts, stage, end point, and how unequal the arms are."""


def drawn(rows):
    readings = []
    for number, (value, own, shared, stage, end, skew) in enumerate(rows):
        u = math.sqrt(own**2 + sum(part**2 for part in shared.values()))
        length = Quantity(value, u, value - 2 * u * skew, value + 2 * u)
        readings.append(Reading(str(number), length, end, 0.0, shared, stage))
    return readings


def one_by_one(readings):
    """Compare every two by the sum of two lengths, without the short way."""
    found = []
    for a, b in combinations(readings, 2):
        if a.landmark == b.landmark:
            difference = linear([a, b], [-1.0, 1.0])
            arm = difference.lower_arm if difference.value >= 0 else difference.upper_arm
            found.append((a.name, b.name, difference, abs(difference.value) / arm, a.stage == b.stage))
    return found


@settings(deadline=None)
@given(st.lists(ROW, max_size=12), st.integers(1, 60))
def test_the_short_way_finds_what_one_by_one_finds(rows, most):
    readings = drawn(rows)
    pairs = Pairs(readings, [reading.landmark for reading in readings])
    expected = one_by_one(readings)
    assert [(p.first, p.second, p.difference, p.e_n, p.same_stage) for p in pairs] == expected
    for found, stage in zip(pairs.apart(most), (True, False), strict=False):
        apart = sorted((p for p in expected if p[3] > 1 and p[4] is stage), key=lambda p: -p[3])
        assert found.count == len(apart)
        assert [p.e_n for p in pairs.at(found.worst)] == pytest.approx([p[3] for p in apart[:most]])


def test_a_pair_is_the_same_by_its_number_and_in_order():
    rows = [(20 + n, 0.2, {}, "before", (APEX, FORAMEN)[n % 2], 1.0) for n in range(7)]
    readings = drawn(rows)
    pairs = Pairs(readings, [reading.landmark for reading in readings])
    assert len(pairs) == 6 + 3
    assert pairs == tuple(pairs[number] for number in range(len(pairs)))
    assert pairs[-1] == tuple(pairs)[-1]
    assert pairs[2:4] == tuple(pairs)[2:4]
    with pytest.raises(IndexError):
        pairs[9]


def test_a_pair_exactly_on_the_edge_agrees():
    two = [Reading(str(n), Quantity(20.0 + n, 0.3, 19.5 + n, 20.5 + n), APEX) for n in range(2)]
    arm = math.hypot(0.5, 0.5)
    edge = [two[0], Reading("1", Quantity(20.0 + arm, 0.3, 19.5 + arm, 20.5 + arm), APEX)]
    assert [finding.code for finding in reconcile(two, "46").findings] == ["values-conflict"]
    found = reconcile(edge, "46")
    assert (found.pairs[0].e_n > 1) == (found.findings[0].code == "values-conflict")


def test_a_thousand_lengths_are_compared_and_the_worst_conflicts_told():
    rng = np.random.default_rng(4)
    rows = [(20.0 + 3.0 * (n % 2), 0.2, {"ruler": 0.1}, "before", APEX, 1.0) for n in range(1000)]
    readings = drawn([(value + 0.05 * rng.normal(), *rest) for value, *rest in rows])
    found = reconcile(readings, "46")
    assert len(found.pairs) == 499_500
    assert {finding.code for finding in found.findings} == {"values-conflict"}
    assert len(found.findings) == MOST_TOLD
    assert f"and {500 * 500 - MOST_TOLD} pairs like it" in found.findings[-1].sentence
    told = [float(finding.sentence.rsplit("E_n ", 1)[1].split(")")[0]) for finding in found.findings]
    assert told == sorted(told, reverse=True)


@pytest.mark.parametrize(("step", "listed"), [(3.0, MOST_TOLD), (0.0, 1)], ids=["conflict", "agree"])
def test_of_many_pairs_plain_data_lists_those_that_matter(step, listed):
    rng = np.random.default_rng(4)
    rows = [(20.0 + step * (n % 2) + 0.02 * rng.normal(), 0.2, {}, "before", APEX, 1.0) for n in range(30)]
    found = reconcile(drawn(rows), "46")
    told = found.as_dict()
    every = sorted((pair.e_n for pair in found.pairs), reverse=True)
    assert told["pairs_compared"] == len(every) == 435
    assert told["pairs_apart"] == sum(e_n > 1 for e_n in every)
    assert told["pairs_not_listed"] == 435 - listed
    assert [pair["e_n"] for pair in told["pairs"]] == pytest.approx(every[:listed])


def test_plain_data_of_a_thousand_lengths_is_small():
    rows = [(20.0 + 3.0 * (n % 2), 0.2, {}, "before", APEX, 1.0) for n in range(1000)]
    told = reconcile(drawn(rows), "46").as_dict()
    assert (told["pairs_compared"], told["pairs_apart"]) == (499_500, 250_000)
    assert len(json.dumps(told)) < 1_000_000


def test_of_few_pairs_plain_data_lists_every_one():
    rows = [(20.0 + n % 2, 0.1, {}, "before", APEX, 1.0) for n in range(20)]
    found = reconcile(drawn(rows), "46")
    told = found.as_dict()
    assert told["pairs"] == [pair.as_dict() for pair in found.pairs]
    assert (told["pairs_compared"], told["pairs_apart"], told["pairs_not_listed"]) == (190, 100, 0)
