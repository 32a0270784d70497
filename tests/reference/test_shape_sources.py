"""Instruments, cones, needles and angles against published figures; each test names where its figures come from."""

import math

import numpy as np
import pytest
from helpers.bends import bent

from radlength.geometry import fit_curve, polyline_length, straight_length
from radlength.geometry.bend import fit_bends
from radlength.geometry.heading import fit_heading
from radlength.shape.bend_methods import angles_of
from radlength.shape.cone import fit_cone, matching_cone
from radlength.shape.needle import needle_depth
from radlength.shape.prepared import Pass, PreparedCanal, crossings_mm
from radlength.trade import Instrument, colour, curvature_rule, needle, needle_gauges

ONE = pytest.mark.parametrize


def canal(*shapes):
    return PreparedCanal(tuple(Pass(Instrument(*shape)) for shape in shapes))


@ONE(
    ("size", "taper", "at", "wanted"),
    [
        pytest.param(25, 0.02, 16, 0.57, id="25-02-at-16"),
        pytest.param(10, 0.02, 16, 0.42, id="10-02-at-16"),
        pytest.param(15, 0.02, 16, 0.47, id="15-02-at-16"),
        pytest.param(30, 0.04, 3, 0.42, id="30-04-at-3"),
        pytest.param(25, 0.06, 12, 0.97, id="25-06-at-12"),
    ],
)
def test_diameters_along_an_instrument(size, taper, at, wanted):
    """ISO 3630-1: tip diameter plus taper times distance."""
    assert Instrument(size, taper).diameter_mm(at) == pytest.approx(wanted, abs=1e-12)


def test_a_standard_taper_gains_0_32_mm_over_16_mm():
    """ISO 3630-1, from memory."""
    one = Instrument(35, 0.02)
    assert one.diameter_mm(16) - one.diameter_mm(0) == pytest.approx(0.32)


def test_colours_carry_their_numbers_and_10_is_purple():
    """ISO 3630-1: 15 to 35 read, the rest from memory; a stored page that calls 10 black is wrong."""
    assert Instrument(10, 0.02).colour == colour(10) == "10 purple"
    assert Instrument(25, 0.06).colour == "25 red"
    assert Instrument(17, 0.04).colour == ""


def test_30_04_is_thicker_than_25_06_only_in_the_last_2_5_mm():
    """Common practice, no source: 0.30 + 0.04 x = 0.25 + 0.06 x; at 16 mm 0.94 against 1.21 mm."""
    thin, thick = canal((30, 0.04)), canal((25, 0.06))
    assert crossings_mm(thin, thick, 16) == [pytest.approx(2.5)]
    assert thin.diameter_mm(2.4) > thick.diameter_mm(2.4)
    assert thin.diameter_mm(2.6) < thick.diameter_mm(2.6)
    assert thin.diameter_mm(16) == pytest.approx(0.94)
    assert thick.diameter_mm(16) == pytest.approx(1.21)


def test_the_cone_goes_by_the_last_instrument_and_is_loose_above():
    """Common practice, no source: after 25/.06 and 30/.04 to length a 30/.04 cone fits the end and is loose above."""
    prepared = canal((25, 0.06), (30, 0.04))
    assert (matching_cone(prepared).size, matching_cone(prepared).taper) == (30, 0.04)
    fit = fit_cone(prepared, 12)
    assert fit.binds_mm == 0
    assert fit.looseness_mm[:3] == pytest.approx(0, abs=1e-9)
    assert fit.looseness_mm[12] == pytest.approx(0.97 - 0.78)


@ONE(
    ("shape", "wanted"),
    [
        pytest.param((30, 0.04), 0.25, id="30-04"),
        pytest.param((25, 0.02), 3.0, id="25-02"),
        pytest.param((25, 0.06), 1.0, id="25-06"),
    ],
)
def test_a_needle_of_0_31_mm_binds(shape, wanted):
    """Computed from ISO 3630-1 and ISO 9626: (needle - tip) / taper short of the end."""
    assert needle_depth(canal(shape), needle("0.31"), 16).short_mm == pytest.approx(wanted, abs=1e-6)


@ONE("taper", [0.04, 0.06, 0.08])
def test_a_31_gauge_needle_reaches_the_last_2_mm_from_size_25(taper):
    """Common practice, no source."""
    assert needle_depth(canal((25, taper)), needle("31G"), 16).high_mm < 2


@ONE("gauge", needle_gauges())
def test_nominal_diameters_lie_within_the_limits_of_the_tubing(gauge):
    """ISO 9626: nominal diameters read, limits from memory."""
    one = needle(f"{gauge}G")
    assert one.low_mm < one.diameter_mm < one.high_mm


CHART_MM = {21: 0.8192, 23: 0.6414, 25: 0.5144, 27: 0.4128, 28: 0.3620, 29: 0.3366, 30: 0.3112, 31: 0.2604}
"""Nominal outer diameters of a public chart of needle gauges (encyclopaedia, "Needle gauge comparison chart"): read."""


@ONE("gauge", needle_gauges())
def test_nominal_diameters_are_those_of_a_public_chart(gauge):
    one = needle(f"{gauge}G")
    assert one.diameter_mm == pytest.approx(CHART_MM[gauge], abs=0.005)
    assert one.low_mm < CHART_MM[gauge] < one.high_mm


def test_every_gauge_between_the_two_that_rinse_canals_is_there():
    assert {27, 28, 29, 30, 31} <= set(needle_gauges())


@ONE("limit", [pytest.param(25, id="25"), pytest.param(30, id="30")])
def test_the_band_of_a_cone_is_its_limit_over_its_taper(limit):
    """ISO 6877, from memory: 0.05 mm up to size 25, 0.07 mm from 30."""
    fit = fit_cone(canal((limit, 0.04)), 14)
    wide = (0.05 if limit == 25 else 0.07) / 0.04
    assert fit.tug_back_mm == pytest.approx((wide, -wide), abs=0.011)


@ONE(
    ("angle", "wanted"),
    [
        pytest.param(4.9, "straight", id="4.9"),
        pytest.param(5.0, "between classes (straight and moderate)", id="5-is-not-below-5"),
        pytest.param(7, "between classes (straight and moderate)", id="gap-5-to-10"),
        pytest.param(15, "moderate", id="15"),
        pytest.param(22, "between classes (moderate and severe)", id="gap-20-to-25"),
        pytest.param(30, "severe", id="30"),
        pytest.param(71, "beyond the last class (severe)", id="71"),
    ],
)
def test_classes_after_schneider_leave_their_gaps(angle, wanted):
    """Schneider 1971: below 5 straight, 10-20 moderate, 25-70 severe; the gaps are the source's own."""
    assert curvature_rule("Schneider 1971").classify(angle) == wanted


def test_another_split_calls_the_same_angle_another_name():
    """BMC Oral Health 2021, 01446: moderate 10-25, severe 26-70."""
    assert curvature_rule("moderate from 10, severe from 26").classify(22) == "moderate"


@ONE("radius", [2, 5, 10])
@ONE("angle", [30, 45, 60])
def test_angle_and_radius_of_a_bend_come_back(radius, angle):
    """Pruett et al. 1997: perpendiculars where a circular bend leaves the straight parts."""
    found = fit_bends(bent(11, radius, angle, 3, 24))
    assert math.degrees(found.angle_rad()[0]) == pytest.approx(angle, abs=0.02)
    assert found.radius()[0] == pytest.approx(radius, rel=0.002)


@ONE(
    ("radius", "angle", "arc", "chord"),
    [
        pytest.param(5, 30, 2.6180, 2.5882, id="5-30"),
        pytest.param(5, 45, 3.9270, 3.8268, id="5-45"),
        pytest.param(5, 60, 5.2360, 5.0000, id="5-60"),
        pytest.param(2, 60, 2.0944, 2.0000, id="2-60"),
        pytest.param(10, 45, 7.8540, 7.6537, id="10-45"),
    ],
)
def test_arc_and_chord(radius, angle, arc, chord):
    """Geometry: arc r a, chord 2 r sin(a / 2)."""
    points = bent(0, radius, angle, 0, 13)
    assert fit_curve(points).length == pytest.approx(arc, abs=2e-4)
    assert straight_length(points) == pytest.approx(chord, abs=1e-4)


def test_few_clicks_shorten_a_polyline_and_not_the_curve():
    """Geometry: r = 5, 60 degrees, 5.2360; three chords give 5.2094."""
    points = bent(0, 5, 60, 0, 4)
    assert polyline_length(points) == pytest.approx(5.2094, abs=1e-4)
    assert abs(fit_curve(points).length - 5.2360) < 0.02


@ONE(
    ("tail", "wanted"),
    [
        pytest.param(0, 30.00, id="ends-in-the-bend"),
        pytest.param(1, 34.87, id="1"),
        pytest.param(2, 38.45, id="2"),
        pytest.param(3, 41.17, id="3"),
        pytest.param(5, 45.00, id="5"),
    ],
)
def test_schneider_grows_with_the_straight_end_where_weine_stays(tail, wanted):
    """Geometry, after Schneider 1971 and Weine (from memory): r = 5, 60 degrees, a straight end of that many mm."""
    found = angles_of(fit_bends(bent(11, 5, 60, tail, 24)))
    assert found["Schneider angle"][0] == pytest.approx(wanted, abs=0.02)
    assert found["Weine angle"][0] == pytest.approx(60, abs=0.02)


def test_the_access_angle_is_that_of_its_triangle():
    """Günday et al. 2005: height x and distance y span the access angle, tan = x / y."""
    found = angles_of(fit_bends(bent(11, 5, 60, 1, 24)))
    x, y = found["curvature height"][0], found["curvature distance"][0]
    assert math.degrees(math.atan2(x, y)) == pytest.approx(found["canal access angle"][0], abs=1e-3)


def test_training_block_has_the_length_of_line_and_arc():
    """Computed: 12 mm straight and an arc of r = 5, 60 degrees: 17.236 mm, end to end 16.520 mm."""
    points = bent(12, 5, 60, 0, 400)
    assert polyline_length(points) == pytest.approx(17.236, abs=0.001)
    assert straight_length(points) == pytest.approx(16.520, abs=0.001)


@ONE("count", [9, 12, 20])
@ONE("radius", [5.0, 12.0])
def test_curvature_of_a_circle_is_one_over_its_radius(count, radius):
    found = fit_heading(bent(0, radius, 60, 0, count))
    s = np.linspace(0, found.length, 25)
    assert np.abs(found.curvature(s) - 1 / radius).max() < 1e-3 / radius


@ONE("count", [9, 12, 20])
def test_curvature_of_a_clothoid_grows_evenly(count):
    """Clothoid: curvature proportional to the distance; here up to 0.2 per mm over 15 mm."""
    s = np.linspace(0, 15, 20001)
    angle = 0.2 * s**2 / 30
    steps = (s[1] - s[0]) * np.column_stack([np.cos(angle), np.sin(angle)])
    points = np.vstack([[0, 0], np.cumsum((steps[1:] + steps[:-1]) / 2, axis=0)])
    found = fit_heading(points[np.linspace(0, 20000, count).astype(int)])
    at = np.arange(0, 15, 0.5)
    assert np.abs(found.curvature(at) - 0.2 * at / 15).max() < 0.002


def test_curvature_of_an_ellipse():
    """Ellipse of half-axes 12 and 6: curvature a b / (a^2 sin^2 + b^2 cos^2)^1.5; 9 clicks, within 0.045 per mm."""
    a, b = 12.0, 6.0
    u = np.linspace(0, np.pi / 2, 20001)
    points = np.column_stack([a * np.cos(u), b * np.sin(u)])
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    clicks = np.searchsorted(along, np.linspace(0, along[-1], 9)).clip(0, 20000)
    true = a * b / (a**2 * np.sin(u) ** 2 + b**2 * np.cos(u) ** 2) ** 1.5
    found = fit_heading(points[clicks])
    at = np.arange(0, along[-1], 0.5)
    misses = np.abs(np.abs(found.curvature(at)) - np.interp(at, along, true))
    assert misses.max() < 0.045
    assert misses[(at > 2) & (at < along[-1] - 2)].max() < 0.015
    assert found.length == pytest.approx(along[-1], abs=0.001)
