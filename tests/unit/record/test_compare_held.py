"""When a stored estimate agrees with the one measured now: value, both ends and the terminus, each by itself."""

from types import SimpleNamespace

import pytest

from radlength.length import ALGORITHM
from radlength.quantity import Quantity
from radlength.record.compare import _verdict


def estimate(value=22.0, low=21.0, high=23.5, working=None, algorithm=ALGORITHM):
    return SimpleNamespace(
        canal_length=Quantity(value, 0.3, low, high), working_length=working, algorithm=algorithm
    )


def test_the_same_numbers_agree_also_where_the_version_is_another():
    assert _verdict(estimate(), estimate()) == {"verdict": "agrees"}
    assert _verdict(estimate(algorithm="4"), estimate()) == {"verdict": "agrees"}


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"value": 22.1}, "value"),
        ({"low": 20.9}, "low"),
        ({"high": 23.4}, "high"),
        ({"value": 21.9}, "value"),
    ],
)
def test_a_tenth_of_a_millimetre_in_any_part_differs_either_way(change, part):
    for before, now in ((estimate(), estimate(**change)), (estimate(**change), estimate())):
        found = _verdict(before, now)
        assert found["verdict"].startswith("differs")
        assert found["differing"] == [f"canal length {part}"]


def test_a_working_length_is_compared_too_and_one_that_came_or_went_is_another_terminus():
    one, other = Quantity(21.0, 0.3, 20.0, 22.5), Quantity(20.5, 0.3, 19.5, 22.0)
    assert _verdict(estimate(working=one), estimate(working=other))["differing"] == [
        "working length value",
        "working length low",
        "working length high",
    ]
    assert _verdict(estimate(working=one), estimate())["differing"] == ["terminus"]
    assert _verdict(estimate(), estimate(working=one))["differing"] == ["terminus"]
    assert _verdict(estimate(working=one), estimate(working=one)) == {"verdict": "agrees"}


def test_a_number_that_another_version_made_is_told_with_both_versions():
    found = _verdict(estimate(algorithm="4"), estimate(value=22.3))
    assert found["verdict"] == f"other version of the estimate: 4, now {ALGORITHM}"
    assert found["differing"] == ["canal length value"]
