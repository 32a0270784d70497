import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.trade import Instrument, cone_limit, curvature_rule, needle, parse_instrument, tapers_to_table


@pytest.mark.parametrize(
    ("size", "taper", "words"),
    [
        pytest.param(0.25, 0.06, r"size 0\.25; .* write 25 for a tip of 0\.25 mm", id="size-in-mm"),
        pytest.param(2500, 0.06, "size 2500; 4 to 160, in hundredths", id="size-in-tenths-of-micrometres"),
        pytest.param(-25, 0.06, "size -25; 4 to 160", id="negative-size"),
        pytest.param(math.nan, 0.06, "size nan; 4 to 160", id="no-size"),
        pytest.param(25, 6, r"a taper of 6 mm per mm; 0 to 0\.2; write 0\.06 for 6 %", id="taper-in-percent"),
        pytest.param(25, -0.06, r"a taper of -0\.06 mm per mm; 0 to 0\.2", id="negative-taper"),
        pytest.param(
            25, 0.25, r"a taper of 0\.25 mm per mm; 0 to 0\.2; give millimetres per", id="too-steep"
        ),
        pytest.param(80, 0.2, r"would be 4\.00 mm thick; up to 3 mm", id="thicker-than-any"),
    ],
)
def test_what_is_no_instrument_is_refused_with_what_was_meant(size, taper, words):
    with pytest.raises(TradeError, match=words):
        Instrument(size, taper)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        pytest.param(((0, 0.25),), "a table of diameters at 0 mm", id="one-row"),
        pytest.param(((1, 0.25), (4, 0.5)), "at 1, 4 mm", id="not-from-the-tip"),
        pytest.param(((0, 0.25), (4, 0.5), (3, 0.6)), "at 0, 4, 3 mm", id="distances-fall"),
        pytest.param(
            ((0, 25), (4, 50)), r"a diameter of 25 mm at 0 mm; .* write 0\.25 for 25", id="hundredths"
        ),
        pytest.param(((0, 0.25), (4, -0.5)), r"a diameter of -0\.5 mm at 4 mm", id="negative"),
        pytest.param(((0, 0.9), (16, 0.25)), r"starts with 0\.9 mm for size 25", id="from-the-handle"),
        pytest.param(((0, 0.25), (math.inf, 0.5)), "at 0, inf mm", id="endless"),
    ],
)
def test_a_table_that_is_no_instrument_is_refused(table, words):
    with pytest.raises(TradeError, match=words):
        Instrument(25, table=table)


def test_taper_or_table_but_not_both_and_not_neither():
    with pytest.raises(
        TradeError, match=r"size 25 with neither taper and table; a constant taper, or a table"
    ):
        Instrument(25)
    with pytest.raises(TradeError, match=r"size 25 with both taper and table"):
        Instrument(25, 0.06, ((0, 0.25), (4, 0.5)))


@pytest.mark.parametrize("working", [0, 36, math.nan])
def test_a_working_part_of_no_instrument_is_refused(working):
    with pytest.raises(TradeError, match=r"a working part of .* mm; 4 to 35 mm"):
        Instrument(25, 0.06, working_mm=working)


@pytest.mark.parametrize("at", [-0.1, math.nan, math.inf])
def test_a_distance_off_the_instrument_is_refused(at):
    with pytest.raises(TradeError, match=r"mm from the tip of 25/\.06; 0 mm or more; measure from the tip"):
        Instrument(25, 0.06).diameter_mm(at)


def test_the_shaft_keeps_the_last_diameter():
    assert Instrument(25, 0.06).diameter_mm(16) == Instrument(25, 0.06).diameter_mm(21) == pytest.approx(1.21)


@given(st.floats(4, 130), st.floats(0, 0.1), st.floats(0, 25))
def test_a_table_of_a_constant_taper_is_that_taper(size, taper, at):
    one = Instrument(size, taper)
    same = Instrument(size, table=one.rows)
    assert same.diameter_mm(at) == pytest.approx(one.diameter_mm(at), abs=1e-9)
    assert same.steepest == pytest.approx(taper, abs=1e-9)


def test_pieces_of_taper_join_and_are_checked():
    table = tapers_to_table(20, [(0.1, 2), (0.04, 16)])
    assert Instrument(20, table=table).diameter_mm(3) == pytest.approx(0.44)
    with pytest.raises(TradeError, match=r"a taper up to 2 mm after one up to 3 mm; distances from the tip"):
        tapers_to_table(20, [(0.1, 3), (0.04, 2)])
    with pytest.raises(TradeError, match=r"a taper of 4 mm per mm"):
        tapers_to_table(20, [(4, 3)])


@pytest.mark.parametrize("text", ["", "25", "25-06", "red", "25/.06/3", "25/x", "/.06"])
def test_a_text_that_is_no_instrument_shows_how_to_write_one(text):
    with pytest.raises(TradeError, match=r"is no size and taper; size/taper, as 25/\.06"):
        parse_instrument(text)


@pytest.mark.parametrize(
    ("text", "label"),
    [("25/.06", "25/.06"), (" 30/0.04 ", "30/.04"), ("40/0", "40/.00"), ("17.5/.045", "17.5/.045")],
)
def test_labels_are_read_back(text, label):
    assert parse_instrument(text).label == label
    assert parse_instrument(label).label == label


def test_an_instrument_as_plain_data():
    assert Instrument(25, 0.06).as_dict() == {
        "label": "25/.06",
        "size": 25,
        "taper": 0.06,
        "table_mm": None,
        "colour": "25 red",
        "working_part_mm": 16.0,
    }
    assert Instrument(25, table=((0, 0.25), (16, 1))).as_dict()["table_mm"] == [[0.0, 0.25], [16.0, 1.0]]


@pytest.mark.parametrize("size", [5, 150, 0.3, math.nan])
def test_a_cone_of_no_size_is_refused(size):
    with pytest.raises(TradeError, match=r"a cone of size .*; 10 to 140 hundredths"):
        cone_limit(size)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param(
            "27", r"a needle of '27'; an outer diameter of 0\.18 to 3\.4 mm .*; write 27G", id="gauge-as-mm"
        ),
        pytest.param("26G", "a needle of 26 gauge; one of: 21G", id="no-such-gauge"),
        pytest.param("-0.3", "a needle of '-0.3'", id="negative"),
        pytest.param("0.03", "a needle of '0.03'", id="a-tenth"),
        pytest.param("thin", "a needle of 'thin'; .*; measure it with a caliper", id="words"),
        pytest.param("nan", "a needle of 'nan'", id="nan"),
    ],
)
def test_a_needle_that_is_none_is_refused(text, words):
    with pytest.raises(TradeError, match=words):
        needle(text)


@pytest.mark.parametrize("angle", [-1, 181, math.nan])
def test_an_angle_that_is_none_has_no_class(angle):
    with pytest.raises(TradeError, match=r"cannot be classed; 0 to 180 degrees"):
        curvature_rule("Schneider 1971").classify(angle)


def test_an_interval_touches_every_class_between_its_ends():
    rule = curvature_rule("Schneider 1971")
    assert rule.between(12, 30) == ("moderate", "between classes (moderate and severe)", "severe")
    assert rule.between(12, 13) == ("moderate",)
    assert curvature_rule("moderate from 10, severe from 26").between(2, 12)[0] == (
        "below the first class (moderate)"
    )


def test_an_unknown_rule_lists_those_there_are():
    with pytest.raises(
        TradeError, match=r"curvature rule 'mine' is unknown; one of: Schneider 1971, moderate from"
    ):
        curvature_rule("mine")
