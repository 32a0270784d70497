from dataclasses import replace

import numpy as np
import pytest
from helpers.shapes import bent_canal
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.errors import MarkError, ScaleError
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus, estimate_length
from radlength.scale import Reference
from radlength.trade import CAUTION
from radlength.uncertainty import Marking

PX_PER_MM = 40.0
CAREFUL = Marking(apex_mm=0.05, stop_mm=0.05, tip_mm=0.05, path_mm=0.05)


def canal(path=None, name="single", tooth="45"):
    path = bent_canal(22.0, 30.0) * PX_PER_MM + 50 if path is None else path
    return Canal(tooth=tooth, name=name, path_px=path)


def reference(length=20.5, limit=0.25, **change):
    dense = bent_canal(22.0, 30.0, count=4001)
    path = dense[np.linspace(0, 4000 * length / 22, 12).round().astype(int)] * PX_PER_MM + 50
    fields = {"path_px": path, "length_mm": length, "limit_mm": limit, "placement": "in_canal"} | change
    return Reference(**fields)


def test_a_curved_canal_is_measured_along_its_curve():
    estimate = estimate_length(canal(), reference())
    assert estimate.canal_length.value_mm == pytest.approx(22.0, abs=0.05)
    assert estimate.straight_length.value_mm < estimate.canal_length.value_mm - 0.1
    assert estimate.method == "in_canal"
    assert estimate.gap_mm == pytest.approx(1.5, abs=0.06)


def test_without_a_terminus_there_is_no_working_length():
    estimate = estimate_length(canal(), reference())
    assert estimate.working_length is None
    assert estimate.stop_setting_mm(direction="down") is None
    assert estimate.as_dict()["working_length"] is None


def test_the_offset_is_exact_by_definition():
    estimate = estimate_length(canal(), reference(), terminus=Terminus(offset_mm=1.0))
    assert estimate.working_length.value_mm == pytest.approx(estimate.canal_length.value_mm - 1.0)
    assert estimate.working_length.u_mm == estimate.canal_length.u_mm
    assert estimate.stop_setting_mm(direction="nearest") == 21.0


def test_the_stop_setting_names_its_direction():
    estimate = estimate_length(canal(), reference(), terminus=Terminus(offset_mm=0.1))
    assert estimate.stop_setting_mm(direction="nearest") == 22.0
    assert estimate.stop_setting_mm(direction="down") == 21.5


@pytest.mark.parametrize("stretch", [0.5, 1.0, 3.0])
def test_the_scale_of_the_image_cancels(stretch):
    plain = estimate_length(canal(), reference()).canal_length
    one, two = canal(), reference()
    stretched = estimate_length(
        Canal(tooth="45", name="single", path_px=np.asarray(one.path_px) * stretch),
        Reference(path_px=np.asarray(two.path_px) * stretch, length_mm=20.5, limit_mm=0.25),
    ).canal_length
    assert stretched.value_mm == pytest.approx(plain.value_mm, rel=1e-9)
    assert stretched.u_mm == pytest.approx(plain.u_mm, rel=1e-9)


def test_pixels_that_are_not_square_are_made_square_first():
    square = estimate_length(canal(), reference()).canal_length.value_mm
    squeezed = (1.0, 2 / 3)
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.02, column_mm=0.03)
    estimate = estimate_length(
        canal(np.asarray(canal().path_px) * squeezed),
        reference(path_px=np.asarray(reference().path_px) * squeezed),
        radiograph=radiograph,
    )
    assert estimate.canal_length.value_mm == pytest.approx(square, rel=1e-9)


def test_a_shared_coronal_mark_counts_once():
    same = estimate_length(canal(), reference(), marking=CAREFUL)
    moved = np.asarray(reference().path_px) + np.array([0.01, 0.0])
    apart = estimate_length(canal(), reference(path_px=moved), marking=CAREFUL)
    names = [line.name for line in same.budget.lines]
    assert "stop of the reference" not in names
    assert "stop of the reference" in [line.name for line in apart.budget.lines]
    coronal = next(line for line in same.budget.lines if line.name == "reference point")
    other = next(line for line in apart.budget.lines if line.name == "reference point")
    assert coronal.u_mm < 0.2 * other.u_mm
    assert same.canal_length.u_mm < apart.canal_length.u_mm


@pytest.mark.parametrize("name", ["apex_mm", "stop_mm", "tip_mm", "path_mm"])
def test_each_landmark_spread_widens_the_interval(name):
    path = np.asarray(reference().path_px) + np.array([1.0, 0.0])
    loose = Marking(**dict.fromkeys(("apex_mm", "stop_mm", "tip_mm", "path_mm"), 0.05) | {name: 0.5})
    careful = estimate_length(canal(), reference(path_px=path), marking=CAREFUL).canal_length
    wide = estimate_length(canal(), reference(path_px=path), marking=loose).canal_length
    assert wide.u_mm > careful.u_mm


def test_the_reference_limit_widens_the_interval_and_its_length_moves_the_value():
    narrow = estimate_length(canal(), reference(limit=0.1)).canal_length
    wide = estimate_length(canal(), reference(limit=0.5)).canal_length
    longer = estimate_length(
        canal(), Reference(path_px=reference().path_px, length_mm=21.5, limit_mm=0.1)
    ).canal_length
    assert wide.u_mm > narrow.u_mm
    assert longer.value_mm == pytest.approx(narrow.value_mm * 21.5 / 20.5)


def test_the_ways_to_a_scale_from_sure_to_unsure():
    widths = [
        estimate_length(canal(), reference(21.0, **change), marking=CAREFUL).canal_length.u_mm
        for change in ({}, {"placement": "beside"}, {"canal": "MB"})
    ]
    assert widths == sorted(widths)
    assert widths[1] > 2 * widths[0]


def test_a_canal_known_to_be_straight_has_a_narrower_interval_and_the_same_length():
    plain = estimate_length(canal(), reference(), marking=CAREFUL).canal_length
    straight = replace(canal(), straight="second view at 20 degrees")
    known = estimate_length(straight, reference(), marking=CAREFUL).canal_length
    assert known.value_mm == plain.value_mm
    assert known.upper_arm < 0.5 * plain.upper_arm


def test_a_borrowed_reference_is_said():
    estimate = estimate_length(canal(name="ML"), reference(canal="MB"))
    assert estimate.method == "borrowed"
    assert "reference-borrowed" in [finding.code for finding in estimate.findings]


def test_the_header_alone_gives_a_wide_interval_and_a_finding():
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=1 / 40, column_mm=1 / 40)
    estimate = estimate_length(canal(), radiograph=radiograph)
    assert estimate.method == "detector"
    assert estimate.reference is None
    assert estimate.canal_length.value_mm == pytest.approx(22 / 1.065, rel=0.01)
    assert estimate.canal_length.upper_arm > 1.0
    assert "no-reference" in [finding.code for finding in estimate.findings]


def test_no_scale_no_millimetres():
    with pytest.raises(ScaleError, match="no scale: lengths in pixels only"):
        estimate_length(canal())


def test_the_magnification_is_told_where_the_pitch_is_known():
    assert estimate_length(canal(), reference()).magnification is None
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.0265, column_mm=0.0265)
    magnification = estimate_length(canal(), reference(), radiograph=radiograph).magnification
    assert magnification.value == pytest.approx(0.0265 * 40, rel=2e-3)
    assert magnification.low < magnification.value < magnification.high


def test_the_interval_of_the_magnification_holds_the_true_one():
    """A 20 mm instrument whose shadow is 21 mm, marked and read again and again (JCGM 100:2008, 6.2)."""
    rng, true, held = np.random.default_rng(20), 1.05, 0
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.02, column_mm=0.03)
    marking = Marking(stop_mm=0.1, tip_mm=0.1, path_mm=0.1)
    shadow = np.array([(0.0, 0.0), (10.5, 0.0), (21.0, 0.0)])
    for _ in range(400):
        clicked = (shadow + rng.normal(0, 0.1 * true, (3, 2))) / (0.02, 0.03) + 50
        known = Reference(clicked, 20.0 + rng.uniform(-0.1, 0.1), 0.1)
        found = estimate_length(canal(), known, radiograph=radiograph, marking=marking).magnification
        held += found.low <= true <= found.high
    assert 370 <= held <= 391  # 380 of 400 within 2.5 standard deviations, binomial


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"terminus": 1.0}, "float as a terminus; a Terminus, or None", id="terminus"),
        pytest.param({"marking": 0.3}, "float as a marking; a Marking, or None", id="marking"),
        pytest.param(
            {"radiograph": "tooth.dcm"}, "str as a radiograph; a Radiograph, or None", id="radiograph"
        ),
    ],
)
def test_what_is_none_of_what_is_asked_for_is_refused_in_words(change, words):
    with pytest.raises(MarkError, match=words):
        estimate_length(canal(), reference(), **change)


@pytest.mark.parametrize("blank", ["", " ", "\t\n"], ids=repr)
def test_a_blank_statement_of_a_straight_canal_narrows_nothing(blank):
    plain = estimate_length(canal(), reference()).canal_length
    assert estimate_length(replace(canal(), straight=blank), reference()).canal_length == plain


@pytest.mark.parametrize("straight", [True, None, 1], ids=repr)
def test_a_canal_is_stated_straight_in_words_only(straight):
    with pytest.raises(MarkError, match="words that say how it is known"):
        replace(canal(), straight=straight)


def test_plain_data_carries_the_caution_and_the_status():
    data = estimate_length(canal(), reference(), terminus=Terminus(offset_mm=1.0)).as_dict()
    assert data["caution"] == CAUTION
    assert data["status"] == "estimate, not confirmed"
    assert data["terminus"].startswith("1 mm short of the radiographic apex")
    assert sum(line["share_percent"] for line in data["budget"]) == pytest.approx(100)


def test_the_anatomical_band_is_never_in_the_interval():
    estimate = estimate_length(canal(), reference())
    assert estimate.anatomy is not None
    assert not any("foramen" in line.name or "constriction" in line.name for line in estimate.budget.lines)


@settings(max_examples=25)
@given(turn=st.floats(0, 6.28), shift=st.floats(-300, 300), mirror=st.booleans())
def test_turning_and_mirroring_the_image_changes_no_millimetre(turn, shift, mirror):
    def moved(path):
        turned = np.asarray(path) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        return turned * (1, -1 if mirror else 1) + shift

    plain = estimate_length(canal(), reference()).canal_length
    other = estimate_length(
        canal(moved(canal().path_px)), reference(path_px=moved(reference().path_px))
    ).canal_length
    assert other.value_mm == pytest.approx(plain.value_mm, abs=1e-6)
    assert other.u_mm == pytest.approx(plain.u_mm, abs=1e-6)


@pytest.mark.parametrize(
    ("passed", "error", "said"),
    [
        ((21.0, None), MarkError, "float as a canal; a Canal with"),
        (("canal", 21.0), ScaleError, "float as a reference; a Reference with"),
        (("canal", "21"), ScaleError, "str as a reference; a Reference with"),
    ],
    ids=["canal", "number", "text"],
)
def test_what_is_no_canal_or_reference_is_refused_in_words(passed, error, said):
    one = Canal(tooth="11", name="single", path_px=[(0, 0), (231, 0)]) if passed[0] == "canal" else passed[0]
    with pytest.raises(error, match=said):
        estimate_length(one, passed[1])
