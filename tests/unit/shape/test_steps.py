import pytest

from radlength.errors import TradeError
from radlength.shape.steps import Step, note_steps, read_rules, read_steps
from radlength.trade import Instrument

TABLE = """step,instrument,set_length_mm,felt
hand size,10/.02,21,to length
coronal enlargement,25/.06,18,
apical enlargement,25/.06,19,Stopped short after three passes
"""


def test_the_users_table_and_rules_come_together():
    rules = read_rules("felt,then\nstopped short,a smaller size and look again\nwith ease,a larger size\n")
    noted, found = note_steps(read_steps(TABLE), rules, working_length_mm=21.0)
    assert [n.short_mm for n in noted] == [0.0, 3.0, 2.0]
    assert [n.reminders for n in noted] == [(), (), ("a smaller size and look again",)]
    assert found == ()


def test_without_rules_nothing_is_advised():
    noted, _ = note_steps(read_steps(TABLE), working_length_mm=21.0)
    assert all(n.reminders == () for n in noted)


def test_a_step_beyond_the_working_length_is_serious():
    steps = [Step("apical enlargement", Instrument(25, 0.06), 21.6)]
    noted, found = note_steps(steps, working_length_mm=21.0)
    assert noted[0].short_mm == pytest.approx(-0.6)
    assert [f.severity for f in found] == ["serious"]
    assert "25/.06 was set to 21.6 mm, 0.6 mm beyond the working length of 21.0 mm" in found[0].sentence


def test_without_a_working_length_no_distance_is_told():
    noted, found = note_steps(read_steps(TABLE))
    assert {n.short_mm for n in noted} == {None}
    assert found == ()


@pytest.mark.parametrize(
    ("length", "words"),
    [
        pytest.param(
            2.1, r"a set length of 2.1 mm for 25/.06; 5 to 40 mm; write 21 for 2.1 cm", id="centimetres"
        ),
        pytest.param(-21, "a set length of -21 mm", id="negative"),
        pytest.param(210, "a set length of 210 mm .*; give millimetres", id="tenths"),
        pytest.param(float("nan"), "a set length of nan mm", id="nan"),
    ],
)
def test_a_set_length_of_no_canal_is_refused(length, words):
    with pytest.raises(TradeError, match=words):
        Step("hand size", Instrument(25, 0.06), length)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param(
            "", "its first line is 'empty'; a CSV table with the columns step,instrument", id="empty"
        ),
        pytest.param("a,b\n", "its first line is 'a,b'", id="columns"),
        pytest.param(
            "step,instrument,set_length_mm,felt\nx,25/.06,long,\n", "row 2 has the length 'long'", id="length"
        ),
        pytest.param(
            "step,instrument,set_length_mm,felt\nx,red,20,\n", "'red' is no size and taper", id="instrument"
        ),
        pytest.param(
            "step,instrument,set_length_mm,felt\nx,25/.06,20,a,b\n", "row 2 has more cells", id="cells"
        ),
        pytest.param(
            "step,instrument,set_length_mm,felt\n" + "x,25/.06,20,\n" * 200, "more than 200 rows", id="rows"
        ),
    ],
)
def test_a_table_of_steps_that_is_none_is_refused(text, words):
    with pytest.raises(TradeError, match=words):
        read_steps(text)


def test_a_rule_without_words_is_refused():
    with pytest.raises(TradeError, match=r"row 2 leaves a cell empty"):
        read_rules("felt,then\nshort,\n")


def test_the_rooms_public_names_are_there():
    import radlength.shape

    assert all(getattr(radlength.shape, name) is not None for name in radlength.shape.__all__)
    with pytest.raises(AttributeError, match="has no attribute 'ready_sequence'"):
        _ = radlength.shape.ready_sequence
