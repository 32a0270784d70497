"""The end of a cone or filling by every published rule at once.

Rules: 0.5 to 2 mm (Int J Dent 2015:135120, Table 2), 0 to 2 mm (Liang et al. 2012, Clin Oral Investig), 0 to 3 mm
(Sci World J 2014:751274, Table 1).
"""

import pytest

from radlength.length.fill_end import read_fill_end
from radlength.quantity import Quantity
from radlength.trade import CAUTION, fill_rules


def end(value, arm=0.001):
    return read_fill_end(Quantity(value, arm / 2, value - arm, value + arm))


@pytest.mark.parametrize(
    ("short", "verdicts"),
    [
        (-0.01, ("over", "over", "over")),
        (0.0, ("near the apex", "adequate", "adequate")),
        (0.49, ("near the apex", "adequate", "adequate")),
        (0.5, ("adequate", "adequate", "adequate")),
        (2.0, ("adequate", "adequate", "adequate")),
        (2.01, ("short", "short", "adequate")),
        (3.0, ("short", "short", "adequate")),
        (3.01, ("short", "short", "short")),
    ],
    ids=str,
)
def test_every_rule_says_its_own(short, verdicts):
    found = end(short)
    assert tuple(reading.verdict for reading in found.readings) == verdicts
    assert tuple(reading.rule.name for reading in found.readings) == fill_rules()
    assert ("fill-rules-differ" in [f.code for f in found.findings]) is (len(set(verdicts)) > 1)


def test_beyond_the_apex_is_serious():
    found = end(-0.5)
    assert [(f.code, f.severity) for f in found.findings] == [("fill-beyond-apex", "serious")]


def test_an_interval_over_an_edge_is_open():
    found = end(1.9, arm=0.2)
    assert [reading.within for reading in found.readings] == [("adequate", "short")] * 2 + [("adequate",)]
    assert [f.code for f in found.findings] == ["fill-verdict-uncertain"]
    assert end(1.2, arm=0.2).findings == ()


def test_an_interval_wider_than_a_rule_names_the_middle_too():
    reading = end(-0.2, arm=3.0).readings[0]
    assert set(reading.within) == {"over", "near the apex", "adequate", "short"}
    assert reading.within[0] == "over"


def test_plain_data_carries_the_caution_and_the_sources():
    data = end(1.0).as_dict()
    assert data["caution"] == CAUTION
    assert [row["verdict"] for row in data["rules"]] == ["adequate"] * 3
    assert all(row["source"] for row in data["rules"])
