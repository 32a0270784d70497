"""The tables of the trade against what is printed elsewhere.

Every check names its source. "From memory" marks a printed value that nobody has looked up.
"""

import math

import pytest
from pydicom.sr.codedict import codes

from radlength.trade import (
    ISO_TEETH,
    LENGTH_MARKS_MM,
    LENGTH_TOLERANCE_MM,
    LENGTHS_MM,
    RANGE_SOURCE,
    SIZES,
    anatomical_band,
    colour,
    diameter_mm,
    fill_rule,
    from_universal,
    magnification_prior,
    posterior_caution,
    repeat_rule,
    terminus_table,
    to_universal,
    tooth_length,
    tooth_name,
)
from radlength.trade.anatomy import CONSTRICTION_MM

UPPER = [f"1{position}" for position in range(1, 9)]
LOWER = [f"4{position}" for position in range(1, 9)]


@pytest.mark.parametrize(
    ("iso", "universal"),
    [
        ("11", "8"), ("18", "1"), ("21", "9"), ("28", "16"), ("38", "17"),
        ("36", "19"), ("31", "24"), ("41", "25"), ("46", "30"), ("48", "32"),
        ("26", "14"), ("25", "13"),
        ("55", "A"), ("51", "E"), ("61", "F"), ("65", "J"), ("75", "K"), ("71", "O"), ("81", "P"), ("85", "T"),
    ],
    ids=str,
)  # fmt: skip
def test_iso_3950_against_universal_numbers(iso, universal):
    """ISO 3950 quadrants; 26 = 14, 25 = 13, 28 = 16 as printed; deciduous letters from memory."""
    assert to_universal(iso) == universal
    assert from_universal(universal) == iso


def test_universal_numbers_run_once_round_the_mouth():
    """Universal 1-16 from the upper right third molar to the upper left, 17-32 back below (definition)."""
    round_the_mouth = (
        [f"1{n}" for n in range(8, 0, -1)]
        + [f"2{n}" for n in range(1, 9)]
        + [f"3{n}" for n in range(8, 0, -1)]
        + [f"4{n}" for n in range(1, 9)]
    )
    assert [from_universal(str(number)) for number in range(1, 33)] == round_the_mouth


def dicom_names(group):
    """Names of the teeth of a DICOM context group, in our word order."""
    meanings = [getattr(group, keyword).meaning for keyword in group.dir()]
    words = [
        meaning.lower().removeprefix("permanent ").removesuffix(" tooth").strip() for meaning in meanings
    ]
    # the dictionary calls tooth 32 "Mandibular left lateral tooth"
    return sorted("mandibular left lateral incisor" if w == "mandibular left lateral" else w for w in words)


@pytest.mark.parametrize(
    ("group", "quadrants"),
    [pytest.param("cid4018", "1234", id="permanent"), pytest.param("cid4019", "5678", id="deciduous")],
)
def test_names_against_dicom(group, quadrants):
    """DICOM PS3.16 CID 4018 and 4019, which follow ISO 3950, as pydicom carries them."""
    ours = sorted(tooth_name(iso) for iso in ISO_TEETH if iso[0] in quadrants)
    assert ours == dicom_names(getattr(codes, group))


@pytest.mark.parametrize(
    ("teeth", "overall"),
    [
        pytest.param(UPPER, [23.5, 22.0, 27.0, 22.5, 22.5, 20.5, 19.0, 17.5], id="upper"),
        pytest.param(LOWER, [21.5, 23.5, 27.0, 22.5, 22.5, 21.5, 20.0, 18.0], id="lower"),
    ],
)
def test_crown_and_root_add_up_to_the_printed_length(teeth, overall):
    """Ash & Nelson, carving averages; lower molars and the root of the lower second premolar from memory."""
    assert [tooth_length(iso).overall_mm for iso in teeth] == pytest.approx(overall)


@pytest.mark.parametrize(
    ("iso", "average", "low", "high"),
    [
        pytest.param("11", 23.5, 22.5, 24.0, id="11"),
        pytest.param("12", 22.0, 21.5, 23.0, id="12"),
        pytest.param("13", 27.0, 26.0, 28.0, id="13"),
    ],
)
def test_upper_front_teeth_against_a_second_table(iso, average, low, high):
    """Grossman's Endodontic Practice 2020, Table 13.2."""
    assert tooth_length(iso).overall_mm == average
    assert low <= tooth_length(iso).overall_mm <= high


def test_upper_first_premolar_against_the_range_of_a_second_table():
    """Grossman's Endodontic Practice 2020, Table 13.2: 21.5 to 23 mm."""
    assert 21.5 <= tooth_length("14").overall_mm <= 23.0


def test_upper_central_incisor_is_crown_and_root():
    """Ingle: 23.5 is 10.5 of crown and 13 of root."""
    table = tooth_length("11")
    assert (table.crown_mm, table.root_mm, table.overall_mm) == (10.5, 13.0, 23.5)


BLACK = {
    "11": (22.5, 18, 27), "12": (22.0, 17, 26), "13": (26.5, 20, 32), "14": (20.6, 17, 22.5),
    "15": (21.5, 16, 27), "16": (20.8, 17, 24), "17": (20.0, 16, 24), "18": (17.1, 14, 22),
    "41": (20.7, 16, 24), "42": (21.1, 18, 27), "43": (25.6, 20, 32.5), "44": (21.6, 18, 26),
    "45": (22.3, 18, 26), "46": (21.0, 18, 24), "47": (19.8, 18, 22), "48": (18.5, 16, 20),
}  # fmt: skip


@pytest.mark.parametrize("iso", BLACK)
def test_the_range_holds_both_averages(iso):
    """Black 1902, average and range, from memory; 2.5 mm is the widest step between the two averages."""
    average, shortest, longest = BLACK[iso]
    table = tooth_length(iso)
    assert (table.shortest_mm, table.longest_mm) == (shortest, longest)
    assert shortest <= table.overall_mm <= longest
    assert abs(table.overall_mm - average) <= 2.5
    assert "from memory" in RANGE_SOURCE


WOELFEL = dict(
    zip(
        UPPER + LOWER,
        [23.6, 22.5, 26.4, 21.5, 21.2, 20.1, 20.0, 17.5, 20.8, 22.1, 25.9, 22.4, 22.1, 20.9, 20.6, 18.2],
        strict=True,
    )
)


@pytest.mark.parametrize("iso", WOELFEL)
def test_averages_against_another_collection(iso):
    """Woelfel, overall lengths, from memory: two collections differ by less than 1.5 mm."""
    assert abs(tooth_length(iso).overall_mm - WOELFEL[iso]) < 1.5


@pytest.mark.parametrize(
    ("size", "taper", "at", "printed"),
    [
        (25, 0.02, 16, 0.57),
        (10, 0.02, 16, 0.42),
        (15, 0.02, 16, 0.47),
        (30, 0.04, 3, 0.42),
        (25, 0.06, 12, 0.97),
    ],
    ids=str,
)
def test_diameters(size, taper, at, printed):
    """ISO 3630-1: tip diameter in hundredths of a millimetre, taper per millimetre (recomputed)."""
    assert diameter_mm(size, taper, at) == pytest.approx(printed, abs=1e-12)


@pytest.mark.parametrize("size", SIZES)
def test_a_standard_taper_gains_032_over_the_working_part(size):
    """ISO 3630-1: D16 - D0 = 0.32 mm (from memory)."""
    assert diameter_mm(size, 0.02, 16) - diameter_mm(size, 0.02, 0) == pytest.approx(0.32)


@pytest.mark.parametrize(
    ("size", "taper", "short"), [(30, 0.04, 0.25), (25, 0.02, 3.0), (25, 0.06, 1.0)], ids=str
)
def test_where_a_thin_tube_stops(size, taper, short):
    """A tube of 0.31 mm stops where the shaped canal is as wide (recomputed from ISO 3630-1)."""
    assert diameter_mm(size, taper, short) == pytest.approx(0.31)


def test_two_shapes_are_equally_thick_at_two_and_a_half_millimetres():
    """Common practice, no source: .04 size 30 is thicker than .06 size 25 only in the last 2.5 mm."""
    assert diameter_mm(30, 0.04, 2.5) == pytest.approx(diameter_mm(25, 0.06, 2.5))
    assert diameter_mm(30, 0.04, 2.4) > diameter_mm(25, 0.06, 2.4)
    assert diameter_mm(30, 0.04, 16) == pytest.approx(0.94)
    assert diameter_mm(25, 0.06, 16) == pytest.approx(1.21)


@pytest.mark.parametrize(
    ("size", "name"),
    [
        (15, "white"), (20, "yellow"), (25, "red"), (30, "blue"), (35, "green"), (40, "black"),
        (45, "white"), (50, "yellow"), (55, "red"), (60, "blue"), (70, "green"), (80, "black"),
        (90, "white"), (100, "yellow"), (110, "red"), (120, "blue"), (130, "green"), (140, "black"),
        (6, "pink"), (8, "grey"), (10, "purple"),
    ],
    ids=str,
)  # fmt: skip
def test_colours(size, name):
    """ISO 3630-1: 15 to 35 as printed, the rest from memory; one published page calls 10 black, wrongly."""
    assert colour(size) == f"{size:02d} {name}"


def test_lengths_and_marks():
    """ISO 3630-1: 21, 25, 31 mm as printed; 28, the marks and the limit from memory."""
    assert {21.0, 25.0, 31.0} < set(LENGTHS_MM)
    assert LENGTH_MARKS_MM == (18.0, 19.0, 20.0, 22.0, 24.0)
    assert LENGTH_TOLERANCE_MM / math.sqrt(3) == pytest.approx(0.289, abs=5e-4)


def test_subtraction_by_resorption():
    """Weine, in Grossman's Endodontic Practice, 13th ed.: from 22.0 to 21.0, 20.5, 20.0 mm."""
    table = terminus_table("apex offset by resorption")
    assert [22.0 - table.offset_mm(seen) for seen in ("none", "bone", "bone and root")] == [21.0, 20.5, 20.0]


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [(0.4, "adjust"), (0.5, "accept"), (1.0, "accept"), (1.01, "repeat"), (-0.01, "repeat")],
    ids=str,
)
def test_when_to_take_the_image_again(gap, verdict):
    """Grossman's Endodontic Practice, 13th ed., as quoted."""
    assert repeat_rule("tip within 1 mm").classify(gap) == verdict


def test_one_filling_three_verdicts():
    """Int J Dent 2015:135120 Table 2; Liang 2012; Sci World J 2014:751274 Table 1: 2.5 mm short."""
    names = ("fill 0.5 to 2 mm short", "fill 0 to 2 mm short", "fill 0 to 3 mm short")
    assert [fill_rule(name).classify(2.5) for name in names] == ["short", "short", "adequate"]


@pytest.mark.parametrize(
    ("iso", "mean"),
    [("11", 0.39), ("33", 0.39), ("15", 0.82), ("26", 0.95), ("35", 0.87), ("46", 0.80)],
    ids=str,
)
def test_foramen(iso, mean):
    """Martos et al. 2009, Int Endod J: 926 teeth."""
    assert anatomical_band(iso).foramen_mm == mean


@pytest.mark.parametrize(("iso", "mean"), [("31", 0.46), ("46", 0.78), ("13", 0.59)], ids=str)
def test_foramen_in_a_second_collection(iso, mean):
    """Burch & Hulen 1972: 877 teeth; smallest 0.46, largest 0.78, mean of all 0.59 mm."""
    assert mean in anatomical_band(iso).foramen_range_mm


@pytest.mark.parametrize(
    ("iso", "means"),
    [
        pytest.param("16", (0.82, 0.81, 1.02), id="upper-first-molar"),
        pytest.param("17", (0.54, 0.43, 0.63), id="upper-second-molar"),
        pytest.param("46", (0.95, 1.05), id="lower-first-molar"),
        pytest.param("47", (0.78, 0.81), id="lower-second-molar"),
    ],
)
def test_the_band_of_a_molar_holds_what_micro_ct_measured(iso, means):
    """Int J Oral Sci 2017, 1727 foramina: means of the roots, root tip to the narrowest point."""
    low, high = anatomical_band(iso).constriction_mm
    assert all(low <= mean <= high for mean in means)


@pytest.mark.parametrize("distance", [0.5, 0.67], ids=["younger", "older"])
def test_constriction_to_foramen(distance):
    """Kuttler 1955, as rounded in print: 0.5 mm in the younger, 0.67 mm in the older."""
    low, high = CONSTRICTION_MM
    assert low <= distance <= high


def test_magnification_holds_film_and_sensor_but_no_panoramic_image():
    """Lazzerini 1996: 3.40 % on film, 9.47 % on a sensor, 14.11 % on a panoramic image."""
    prior = magnification_prior()
    assert prior.low <= 1.0340
    assert 1.0947 <= prior.high < 1.1411


def test_the_caution_for_back_teeth_quotes_its_figures():
    """ElAyouti 2001: 51 % of premolars, 22 % of molars; Williams 2007: 0.46 mm."""
    words = posterior_caution()
    assert all(
        part in words
        for part in ("51 % of premolars", "22 % of molars", "0.46 mm", "ElAyouti 2001", "Williams 2007")
    )
