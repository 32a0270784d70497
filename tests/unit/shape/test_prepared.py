import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.shape.cone import fit_cone, matching_cone
from radlength.shape.needle import needle_depth
from radlength.shape.options import parse_option, read_table
from radlength.shape.prepared import Pass, PreparedCanal, crossings_mm, difference_mm3
from radlength.trade import Instrument, needle

instruments = st.builds(Instrument, st.integers(10, 60), st.sampled_from([0.0, 0.02, 0.04, 0.06, 0.08]))
passes = st.builds(Pass, instruments, st.floats(0, 6))
to_length = st.builds(
    PreparedCanal, st.lists(st.builds(Pass, instruments), min_size=1, max_size=3).map(tuple)
)
canals = st.builds(PreparedCanal, st.lists(passes, min_size=1, max_size=3).map(tuple))


@settings(deadline=None, max_examples=60)
@given(to_length, to_length, st.floats(4, 14))
def test_two_canals_cross_where_their_difference_changes_sign(one, other, length):
    at = np.linspace(0, length, 1401)
    gap = np.array([one.diameter_mm(x) - other.diameter_mm(x) for x in at])
    signs = np.sign(gap[np.abs(gap) > 1e-6])
    changes = int(np.sum(signs[1:] != signs[:-1]))
    assert len(crossings_mm(one, other, length)) >= changes


def test_canals_that_cross_in_the_middle_are_told():
    one, other = (PreparedCanal((Pass(Instrument(*i)),)) for i in ((41, 0.06), (55, 0.04)))
    assert crossings_mm(one, other, 14.0) == pytest.approx([7.0])


@settings(deadline=None, max_examples=40)
@given(canals, st.floats(4, 14))
def test_volumes_agree_with_a_sum_of_slices(one, length):
    at = (np.arange(20000) + 0.5) * length / 20000
    slices = sum(math.pi / 4 * one.diameter_mm(x) ** 2 for x in at[::10]) * length / 2000
    assert one.volume_mm3(length) == pytest.approx(slices, rel=2e-3, abs=0.02)


def test_the_volume_of_a_frustum():
    one = PreparedCanal((Pass(Instrument(25, 0.06)),))
    d0, d1 = 0.25, 0.97
    assert one.volume_mm3(12) == pytest.approx(math.pi / 12 * 12 * (d0**2 + d0 * d1 + d1**2), rel=1e-12)


def test_what_is_cut_is_the_difference_to_the_stated_canal():
    before = Instrument(10, 0.02)
    one = PreparedCanal((Pass(Instrument(25, 0.06)),), before)
    alone, was = (PreparedCanal((Pass(i),)) for i in (Instrument(25, 0.06), before))
    assert one.removed_mm3(12) == pytest.approx(difference_mm3(alone, was, 12))
    with pytest.raises(
        TradeError, match=r"no canal before is stated; a round canal .*; state one, as 10/.02"
    ):
        alone.removed_mm3(12)


def test_a_canal_wider_than_the_instrument_is_not_filled_up():
    wide = PreparedCanal((Pass(Instrument(20, 0.02)),), Instrument(40, 0.06))
    assert wide.removed_mm3(10) == pytest.approx(0, abs=1e-12)


def test_an_instrument_that_stopped_short_leaves_nothing_below():
    one = PreparedCanal((Pass(Instrument(25, 0.06), 2.0),))
    assert [one.diameter_mm(x) for x in (0, 1.9)] == [0, 0]
    assert one.diameter_mm(2) == pytest.approx(0.25)
    assert one.diameter_mm(5) == pytest.approx(0.43)


def test_the_widest_part_that_passed_counts():
    bulb = Instrument(20, table=((0, 0.2), (2, 0.6), (3, 0.3), (8, 0.8)))
    one = PreparedCanal((Pass(bulb),))
    assert [round(one.diameter_mm(x), 3) for x in (1, 2, 4, 6, 8)] == [0.4, 0.6, 0.6, 0.6, 0.8]


@pytest.mark.parametrize("short", [-0.5, 26, math.nan])
def test_a_pass_beyond_the_working_length_is_refused(short):
    with pytest.raises(TradeError, match=r"25/.06 taken .* mm short of the working length; 0 to 25 mm"):
        Pass(Instrument(25, 0.06), short)


@pytest.mark.parametrize(("length", "step"), [(0, 1), (41, 1), (12, 0), (12, 6), (math.nan, 1), (12, -1)])
def test_a_profile_over_no_canal_is_refused(length, step):
    with pytest.raises(TradeError, match=r"a length up to 40 mm, steps of 0.05 to 5 mm"):
        PreparedCanal((Pass(Instrument(25, 0.06)),)).profile_mm(length, step)


def test_a_profile_has_every_millimetre():
    at, wide = PreparedCanal((Pass(Instrument(25, 0.06)),)).profile_mm(4)
    assert at.tolist() == [0, 1, 2, 3, 4]
    assert wide == pytest.approx([0.25, 0.31, 0.37, 0.43, 0.49])


def test_a_cone_wider_than_the_canal_stops_short_and_says_so():
    fit = fit_cone(PreparedCanal((Pass(Instrument(25, 0.04)),)), 12, Instrument(30, 0.06))
    serious = [finding for finding in fit.findings if finding.severity == "serious"]
    assert [finding.code for finding in serious] == ["cone-wider"]
    assert "30/.06 is wider than the canal at 0 to 12 mm and would come to rest" in serious[0].sentence
    assert fit.binds_mm > 1.2


def test_a_thin_cone_passes_the_end_and_says_so():
    fit = fit_cone(PreparedCanal((Pass(Instrument(40, 0.04)),)), 12, Instrument(30, 0.04))
    assert fit.binds_mm == pytest.approx(-2.5, abs=0.011)
    assert "would pass the end of the working length by 2.50 mm" in str(fit.findings[0])


def test_the_whole_cone_counts_when_its_tip_passes_the_end():
    """0.25 + 0.06 (6 + b) = 0.60 + 0.02 * 6 at the opening: the tip goes 1.83 mm beyond, not farther."""
    fit = fit_cone(PreparedCanal((Pass(Instrument(60, 0.02)),)), 6, Instrument(25, 0.06))
    assert fit.binds_mm == pytest.approx(-11 / 6, abs=0.011)


def test_a_cone_that_does_not_enter_says_so():
    fit = fit_cone(PreparedCanal((Pass(Instrument(30, 0.0)),)), 12, Instrument(35, 0.06))
    assert str(fit.findings[0]).startswith(
        "35/.06 is wider than the canal at 0 to 12 mm and does not enter it."
    )


def test_a_thinner_tip_of_the_same_cone_moves_deeper():
    fit = fit_cone(PreparedCanal((Pass(Instrument(30, 0.04)),)), 12)
    assert fit.tug_back_mm[0] > 0 > fit.tug_back_mm[1]


def test_no_cone_matches_where_nothing_went_to_length():
    with pytest.raises(TradeError, match=r"no instrument was taken to the working length"):
        matching_cone(PreparedCanal((Pass(Instrument(25, 0.06), 1.0),)))


def test_the_band_of_a_cone_is_alike_on_both_sides():
    """0.05 mm thicker or thinner in a taper of 0.06: 0.833 mm short, 0.833 beyond; not a step of the search apart."""
    fit = fit_cone(PreparedCanal((Pass(Instrument(25, 0.06)),)), 12.0)
    assert fit.tug_back_mm == pytest.approx((0.05 / 0.06, -0.05 / 0.06), abs=0.001)
    steps = PreparedCanal((Pass(Instrument(25, 0.06), 2.0), Pass(Instrument(30, 0.04))))
    assert fit_cone(steps, 12.0).tug_back_mm == pytest.approx((1.75, -1.75), abs=0.001)


def test_a_cone_that_passes_all_of_the_canal_is_told_as_far_as_the_canal_is_long():
    fit = fit_cone(PreparedCanal((Pass(Instrument(40, 0.0)),)), 12.0, Instrument(30, 0.0))
    assert fit.binds_mm == -12.0


def test_a_needle_thicker_than_the_opening_is_refused():
    with pytest.raises(
        TradeError, match=r"a needle of 0.82 mm \(21 gauge\) is thicker than the canal at its opening"
    ):
        needle_depth(PreparedCanal((Pass(Instrument(25, 0.02)),)), needle("21G"), 10)


def test_a_needle_at_the_opening_binds_within_its_limits():
    depth = needle_depth(PreparedCanal((Pass(Instrument(25, 0.02)),)), needle("27G"), 8.2)
    assert (depth.short_mm, depth.high_mm) == (pytest.approx(8.0, abs=1e-4), 8.2)


def test_a_thin_needle_reaches_the_end():
    assert needle_depth(PreparedCanal((Pass(Instrument(40, 0.04)),)), needle("30G"), 12).short_mm == 0


def test_an_option_names_instruments_tables_and_lengths():
    mine = read_table("mm,diameter_mm\n0,0.25\n4,0.57\n16,0.9\n", name="mine")
    one = parse_option("mine@3 + 20/.04", tables={"mine": mine})
    assert [(p.instrument.label, p.short_mm) for p in one.passes] == [("mine", 3.0), ("20/.04", 0.0)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("25/.06@x", "'x' after @ is no distance", id="no-distance"),
        pytest.param("25/.06@", "'' after @ is no distance", id="empty-distance"),
        pytest.param("25/.06 + ", "'' is no size and taper", id="empty"),
        pytest.param("0.25/.06", r"write 25 for a tip of 0.25 mm", id="unit"),
        pytest.param("25/6", r"write 0.06 for 6 %", id="percent"),
        pytest.param("25/.06@-1", "a tip beyond the working length is never a preparation", id="beyond"),
        pytest.param("+".join(["25/.06"] * 13), "13 instruments in one option; up to 12", id="many"),
    ],
)
def test_an_option_that_is_none_is_refused(text, words):
    with pytest.raises(TradeError, match=words):
        parse_option(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("", "its first line is another", id="empty"),
        pytest.param("diameter,mm\n", "its first line is another", id="columns"),
        pytest.param("mm,diameter_mm\n", "it has no rows", id="no-rows"),
        pytest.param("mm,diameter_mm\n0,thin\n", "a row is not two numbers", id="words"),
        pytest.param("mm,diameter_mm\n0\n", "a row is not two numbers", id="half-a-row"),
        pytest.param("mm,diameter_mm\n0,25\n16,90\n", "size 2500; 4 to 160", id="hundredths"),
    ],
)
def test_a_table_file_that_is_none_is_refused(text, words):
    with pytest.raises(TradeError, match=words):
        read_table(text, name="mine")
