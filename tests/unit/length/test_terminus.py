import pytest

from radlength.errors import MarkError, TradeError
from radlength.length import Terminus

TABLE = "apex offset by resorption"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        pytest.param({}, "a terminus that says nothing", id="empty"),
        pytest.param({"table": TABLE}, "a terminus table without its observation", id="no-observation"),
        pytest.param({"observation": "bone"}, "an observation without its table", id="no-table"),
        pytest.param({"offset_mm": -0.5}, "a terminus offset of -0.5 mm; 0 to 5 mm", id="negative"),
        pytest.param({"offset_mm": "1.0"}, "a terminus offset of '1.0' mm; 0 to 5 mm", id="text"),
        pytest.param({"offset_mm": True}, "a terminus offset of True mm", id="truth value"),
        pytest.param({"offset_mm": 10**400}, "a terminus offset of 1000", id="beyond any float"),
        pytest.param({"offset_mm": float("nan")}, "a terminus offset of nan mm", id="nan"),
        pytest.param(
            {"offset_mm": 1.0, "table": TABLE, "observation": "bone"},
            "terminus offset 1.0 mm, but table .* gives 1.5 mm for 'bone'",
            id="unequal",
        ),
    ],
)
def test_a_terminus_that_does_not_say_where_is_refused(fields, words):
    with pytest.raises(MarkError, match=words):
        Terminus(**fields)


def test_an_unknown_table_or_observation_is_refused():
    with pytest.raises(TradeError, match="one of: apex offset by resorption"):
        Terminus(table="by feel", observation="bone")
    with pytest.raises(TradeError, match="bone and root"):
        Terminus(table=TABLE, observation="perhaps")


def test_both_given_and_equal_is_fine():
    assert Terminus(offset_mm=1.5, table=TABLE, observation="bone").distance_mm == 1.5


def test_the_words_carry_rule_and_source():
    words = Terminus(table=TABLE, observation="bone").words
    assert words.startswith(
        "1.5 mm short of the radiographic apex (apex offset by resorption, observed: bone;"
    )
    assert Terminus(offset_mm=0.5).words.endswith("(clinician's own offset)")
