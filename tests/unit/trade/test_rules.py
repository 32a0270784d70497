import math
from dataclasses import FrozenInstanceError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.trade import (
    fill_rule,
    fill_rules,
    repeat_rule,
    repeat_rules,
    terminus_table,
    terminus_tables,
)

NAMED = [
    pytest.param(terminus_table, terminus_tables, "terminus table", id="terminus"),
    pytest.param(repeat_rule, repeat_rules, "repeat rule", id="repeat"),
    pytest.param(fill_rule, fill_rules, "fill rule", id="fill"),
]
finite = st.floats(-50, 50)


@pytest.mark.parametrize(("pick", "names", "kind"), NAMED)
def test_an_unknown_name_lists_every_name_there_is(pick, names, kind):
    with pytest.raises(TradeError, match=f"{kind} 'by feel' is unknown; one of: {', '.join(names())}"):
        pick("by feel")


@pytest.mark.parametrize(("pick", "names", "kind"), NAMED)
def test_every_row_is_found_by_its_name_and_names_its_source(pick, names, kind):
    assert len(set(names())) == len(names()) > 0
    for name in names():
        row = pick(name)
        assert row.name == name
        assert len(row.source) > 10
        assert (row.status == "from memory") == ("from memory" in row.source)
        with pytest.raises(FrozenInstanceError, match="cannot assign"):
            row.name = "mine"


@pytest.mark.parametrize(("pick", "names", "kind"), NAMED)
def test_no_name_is_a_default(pick, names, kind):
    with pytest.raises(TypeError, match="missing 1 required positional argument"):
        pick()


def test_a_terminus_lists_what_may_be_observed():
    table = terminus_table("apex offset by resorption")
    assert table.observations == ("none", "bone", "bone and root")
    with pytest.raises(TradeError, match=r"'root' is not in the table .*; one of: none, bone, bone and root"):
        table.offset_mm("root")


@pytest.mark.parametrize(
    ("gap", "one", "three"),
    [
        (-0.01, "repeat", "repeat"),
        (0.0, "adjust", "adjust"),
        (0.49, "adjust", "adjust"),
        (0.5, "accept", "accept"),
        (1.0, "accept", "accept"),
        (1.01, "repeat", "adjust"),
        (2.0, "repeat", "adjust"),
        (3.0, "repeat", "adjust"),
        (3.01, "repeat", "repeat"),
        (0.1 + 0.2 + 0.7, "accept", "accept"),
        (0.8 - 0.3, "accept", "accept"),
        (-1e-12, "adjust", "adjust"),
    ],
    ids=str,
)
def test_the_edges_of_the_repeat_rules(gap, one, three):
    assert repeat_rule("tip within 1 mm").classify(gap) == one
    assert repeat_rule("tip within 3 mm").classify(gap) == three


@pytest.mark.parametrize(
    ("short", "half_to_two", "to_two", "to_three"),
    [
        (-0.01, "over", "over", "over"),
        (0.0, "near the apex", "adequate", "adequate"),
        (0.49, "near the apex", "adequate", "adequate"),
        (0.5, "adequate", "adequate", "adequate"),
        (2.0, "adequate", "adequate", "adequate"),
        (2.01, "short", "short", "adequate"),
        (3.0, "short", "short", "adequate"),
        (3.01, "short", "short", "short"),
    ],
    ids=str,
)
def test_the_edges_of_the_fill_rules(short, half_to_two, to_two, to_three):
    assert [fill_rule(name).classify(short) for name in fill_rules()] == [half_to_two, to_two, to_three]


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_a_distance_that_is_no_number_gets_no_verdict(wrong):
    for rule in (repeat_rule("tip within 1 mm"), fill_rule("fill 0 to 2 mm short")):
        with pytest.raises(TradeError, match="cannot be judged; a finite number") as caught:
            rule.classify(wrong)
        assert caught.value.code == "distance-not-finite"


@given(st.sampled_from(fill_rules()), finite, finite)
def test_a_filling_further_back_is_never_judged_longer(name, one, other):
    order = ["over", "near the apex", "adequate", "short"]
    low, high = sorted((one, other))
    rule = fill_rule(name)
    assert order.index(rule.classify(low)) <= order.index(rule.classify(high))


@given(finite)
def test_the_wider_repeat_rule_never_asks_for_more_images(gap):
    if repeat_rule("tip within 3 mm").classify(gap) == "repeat":
        assert repeat_rule("tip within 1 mm").classify(gap) == "repeat"


@given(st.sampled_from(repeat_rules()), st.floats(-50, -1e-6))
def test_a_tip_beyond_the_apex_is_never_accepted(name, gap):
    assert repeat_rule(name).classify(gap) == "repeat"
