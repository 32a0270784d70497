from dataclasses import replace

import numpy as np
import pytest
from helpers.two_view_scenes import CAREFUL, PLANTED, marking, moved, pair, with_shifted

from radlength.errors import MarkError, ScaleError
from radlength.scale.two_views import KnownInstrument, TwoViewMarks, View, solve_two_views
from radlength.uncertainty import Marking


def solved(marks, sds=CAREFUL):
    return solve_two_views(marks, marking=marking(sds), reference_mm=sds[2])


def codes(result):
    return {finding.code for finding in result.findings}


@pytest.mark.parametrize("side", [1, -1], ids=["right", "left"])
@pytest.mark.parametrize("marker", [True, False], ids=["marker", "declared-angle"])
def test_a_bend_along_the_beam_is_seen_and_counted(marker, side):
    scene, marks = pair(
        740001, sds=PLANTED, marker=marker, declared=None if marker else 20.0, side=side,
        bend_deg=35.0, azimuth_deg=90.0, gap_mm=2.5,
    )  # fmt: skip
    result = solved(marks, PLANTED)
    canal = result.canal("single")
    assert canal.length.value_mm == pytest.approx(scene.canals[0].length_mm, abs=0.15)
    assert canal.bend_along_beam_deg == pytest.approx(35.0, abs=4.0 + 3 * canal.u_bend_deg)
    assert result.method == ("marker" if marker else "declared")
    assert np.sign(result.shift_deg) == side


def test_the_shift_is_found_from_the_marker():
    _, marks = pair(740002, sds=PLANTED, shift_deg=25.0)
    result = solved(marks, PLANTED)
    assert abs(result.shift_deg) == pytest.approx(25.0, abs=6.0)
    assert result.u_shift_deg < 2.0


def test_same_marks_same_result():
    _, marks = pair(740003)
    assert solved(marks) == solved(marks)
    assert (
        solved(marks).as_dict()["canals"][0]["length"]["value_mm"] == solved(marks).canals[0].length.value_mm
    )


def test_looser_marks_give_a_wider_interval():
    _, marks = pair(740004)
    tight, loose = solved(marks), solved(marks, (0.1, 0.2, 0.06))
    assert loose.canals[0].length.u > 1.5 * tight.canals[0].length.u


def test_canals_of_a_molar_are_told_apart():
    scene, marks = pair(740005, sds=PLANTED, kind="lower_molar", instruments=2)
    result = solved(marks, PLANTED)
    for canal in scene.canals:
        assert result.canal(canal.name).length.value_mm == pytest.approx(canal.length_mm, abs=0.4)
        others = [other.points_mm[64:, 2].mean() for other in scene.canals if other is not canal]
        depth = canal.points_mm[64:, 2].mean() - np.mean(others)
        if abs(depth) > 1.5:
            assert result.canal(canal.name).side == ("buccal" if depth > 0 else "lingual")


def test_without_marks_beside_canals_are_compared_with_each_other():
    _, marks = pair(740006, sds=PLANTED, marker=False, declared=20.0, kind="lower_molar", instruments=2)
    result = solved(marks, PLANTED)
    assert sum(canal.depth_mm for canal in result.canals) == pytest.approx(0, abs=1e-9)
    assert result.canal("MB").side == "buccal"
    assert result.canal("ML").side == "lingual"


def test_a_canal_without_an_instrument_is_told_unless_a_marker_measures_it():
    for marker in (False, True):
        _, marks = pair(740023, sds=PLANTED, marker=marker, declared=20.0, kind="lower_molar", instruments=2)
        found = solved(marks, PLANTED).findings
        told = {finding.subject for finding in found if finding.code == "two-views-no-instrument"}
        without = set(marks.straight.canals) - {tool.canal for tool in marks.instruments}
        assert told == (set() if marker else without)


def turned(marks):
    return replace(marks, shift="left" if marks.shift == "right" else "right")


def swapped(marks):
    return replace(marks, straight=marks.shifted, shifted=marks.straight)


@pytest.mark.parametrize("spoil", [turned, swapped])
def test_names_of_canals_tell_a_wrong_direction_where_lengths_do_not(spoil):
    """Without a marker nothing in the marks tells; that MB would lie lingual of ML does."""
    scene, marks = pair(740006, sds=PLANTED, marker=False, declared=20.0, kind="lower_molar", instruments=2)
    assert "two-views-sides-differ" not in codes(solved(marks, PLANTED))
    result = solved(spoil(marks), PLANTED)
    assert "two-views-sides-differ" in codes(result)
    assert result.canal("MB").length.value_mm == pytest.approx(scene.canal("MB").length_mm, abs=0.5)


@pytest.mark.parametrize("spread", [PLANTED, CAREFUL], ids=["planted", "careful"])
def test_one_image_marked_twice_is_refused(spread):
    _, marks = pair(740017, sds=spread, marker=False, declared=20.0)
    rng = np.random.default_rng(1)
    again = replace(
        marks.straight,
        canals={
            n: np.array(p) + rng.normal(0, spread[1] / 0.025, (8, 2))
            for n, p in marks.straight.canals.items()
        },
    )
    with pytest.raises(ScaleError, match="lie at the same places"):
        solved(replace(marks, shifted=again), spread)


def cut_elsewhere(marks, rng):
    """The straight image again, its edges cut off elsewhere, marked once more."""
    by = rng.normal(0, 4, 2) / 0.025

    def again(paths):
        return {
            name: np.array(path) + by + rng.normal(0, CAREFUL[1] / 0.025, np.shape(path))
            for name, path in paths.items()
        }

    view = marks.straight
    return replace(
        marks,
        shifted=replace(view, canals=again(view.canals), instruments=again(view.instruments), shape_px=None),
    )


@pytest.mark.parametrize("kind", [{}, {"kind": "lower_molar", "instruments": 2}], ids=["single", "molar"])
def test_a_copy_of_one_image_cut_elsewhere_is_asked_about(kind):
    """It would show every canal straight along the beam, to a tenth of a millimetre, and nothing contradicts that."""
    copies, pairs = [], []
    for seed in range(740070, 740082):
        _, marks = pair(seed, marker=False, declared=20.0, **kind)
        pairs.append("two-views-alike" in codes(solved(marks)))
        copies.append("two-views-alike" in codes(solved(cut_elsewhere(marks, np.random.default_rng(seed)))))
    assert sum(copies) >= 10
    assert sum(pairs) <= (0 if kind else 1)


@pytest.mark.parametrize("wrong_mm", [-3.0, 3.0])
def test_a_marker_tells_a_wrong_length_of_the_instrument(wrong_mm):
    _, marks = pair(740018)
    known = marks.instruments[0]
    spoilt = replace(marks, instruments=(replace(known, length_mm=known.length_mm + wrong_mm),))
    try:
        doubts = codes(solved(spoilt))
    except ScaleError as refusal:
        doubts = {refusal.code}
    assert doubts & {"two-views-length-differs", "two-views-residual"}


def test_a_length_grossly_wrong_is_mostly_asked_about_without_a_marker():
    """A quarter less: other teeth than usual could be that large, so not every pair tells."""
    asked = 0
    for seed in range(740040, 740052):
        _, marks = pair(seed, marker=False, declared=20.0)
        known = marks.instruments[0]
        spoilt = replace(marks, instruments=(replace(known, length_mm=known.length_mm * 0.75),))
        asked += bool(codes(solved(spoilt)) & {"two-views-length-differs", "two-views-unlikely"})
    assert asked >= 9


def test_a_single_canal_without_marks_beside_has_no_side():
    _, marks = pair(740007, marker=False, declared=20.0)
    assert solved(marks).canals[0].side is None


def swap_canal_marks(marks):
    straight, shifted = marks.straight, marks.shifted
    return replace(
        marks,
        straight=replace(straight, instruments=shifted.instruments),
        shifted=replace(shifted, instruments=straight.instruments),
    )


def swap_beads(marks):
    beads = list(marks.shifted.marker_px)
    beads[1], beads[6] = beads[6], beads[1]
    return with_shifted(marks, marker_px=beads)


def reverse(marks):
    return with_shifted(marks, canals={name: path[::-1] for name, path in marks.shifted.canals.items()})


def slide_tip(marks):
    tools = {name: moved(path, -1, (80.0, 0.0)) for name, path in marks.shifted.instruments.items()}
    return with_shifted(marks, instruments=tools)


def apex_off_film(marks):
    canals = {name: moved(path, -1, (2000.0, 0.0)) for name, path in marks.shifted.canals.items()}
    return with_shifted(marks, canals=canals)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        pytest.param(lambda m: replace(m, shifted=m.straight), "lie at the same places", id="identical"),
        pytest.param(swap_beads, "do not fit together|the other way", id="beads-swapped"),
        pytest.param(reverse, "do not fit together|the other way", id="path-reversed"),
        pytest.param(slide_tip, "do not fit together|the other way", id="tip-slid"),
        pytest.param(apex_off_film, "lies outside the shifted image", id="apex-off-film"),
        pytest.param(
            lambda m: replace(m, straight=m.shifted, shifted=m.straight), "the other way", id="views-swapped"
        ),
        pytest.param(
            lambda m: replace(m, shift="left" if m.shift == "right" else "right"),
            "the other way",
            id="direction",
        ),
        pytest.param(lambda m: replace(m, angle_deg=3.0), "a tube shift of 3.0°", id="small-as-declared"),
    ],
)
def test_marks_that_contradict_are_refused(spoil, words):
    _, marks = pair(740010, bend_deg=20.0)
    with pytest.raises(ScaleError, match=words):
        solved(spoil(marks))


@pytest.mark.parametrize("seed", range(740020, 740026))
def test_instrument_marks_swapped_between_the_images_are_refused_or_asked_about(seed):
    _, marks = pair(seed)
    try:
        doubts = codes(solved(swap_canal_marks(marks)))
    except ScaleError as refusal:
        doubts = {refusal.code}
    assert doubts


def test_a_shift_too_small_is_found_from_the_marker():
    _, marks = pair(740011, sds=PLANTED, shift_deg=2.0)
    with pytest.raises(ScaleError, match="8° or more"):
        solved(marks, PLANTED)


def test_an_apex_marked_at_two_places_is_asked_about():
    _, marks = pair(740012)
    canals = {name: moved(path, -1, (0.0, 80.0)) for name, path in marks.shifted.canals.items()}
    assert codes(solved(with_shifted(marks, canals=canals))) & {"two-views-steep", "two-views-turn"}


def test_a_flat_marker_falls_back_on_the_declared_angle():
    scene, marks = pair(740013, declared=20.0)
    flat = replace(
        marks,
        marker_mm=marks.marker_mm[:5],
        straight=replace(marks.straight, marker_px=marks.straight.marker_px[:5]),
        shifted=replace(marks.shifted, marker_px=marks.shifted.marker_px[:5]),
    )
    result = solved(flat)
    assert result.method == "declared"
    assert "two-views-marker-flat" in codes(result)
    assert result.canals[0].length.value_mm == pytest.approx(scene.canals[0].length_mm, abs=0.5)
    with pytest.raises(ScaleError, match="lies in one plane, and no instrument"):
        solved(replace(flat, instruments=()))


def test_marks_beside_without_a_known_shape_give_the_side():
    _, marks = pair(740014, declared=20.0, sds=PLANTED)
    result = solved(replace(marks, marker_mm=()), PLANTED)
    assert result.method == "declared"
    assert result.canals[0].side in ("buccal", "lingual", "undecided")


def test_a_shift_of_unknown_size_is_said():
    _, marks = pair(740015, marker=False)
    assert "two-views-angle-not-declared" in codes(solved(marks))


def test_coarse_marks_are_said_to_be_of_little_use():
    _, marks = pair(740016, marker=False, declared=20.0)
    assert "two-views-wide" in codes(solve_two_views(marks, marking=Marking(apex_mm=0.6)))


PATH = [(100, 500), (400, 505), (700, 510), (980, 520)]


def view(**change):
    return View(**({"canals": {"MB": PATH}, "instruments": {"MB": PATH[:3]}} | change))


def both(**change):
    fields = {
        "straight": view(),
        "shifted": view(),
        "shift": "right",
        "instruments": (KnownInstrument("MB", 20.0),),
    }
    return TwoViewMarks(**(fields | change))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"shift": "up"}, "a tube shift to 'up'", id="direction-unknown"),
        pytest.param({"shift": "mesial"}, "not said where mesial is", id="mesial-where"),
        pytest.param({"angle_deg": float("nan")}, "a tube shift of nan°", id="angle-nan"),
        pytest.param({"angle_deg": 70.0}, "0 to 45°", id="angle-large"),
        pytest.param({"u_angle_deg": 0.0}, "above 0 up to 20°", id="angle-exact"),
        pytest.param({"instruments": ()}, "nothing of known length", id="no-length"),
        pytest.param({"angle_deg": "20"}, "a tube shift of '20'°", id="angle-text"),
        pytest.param({"angle_deg": True}, "a tube shift of True°", id="angle-truth"),
        pytest.param({"u_angle_deg": None}, "known to None°", id="angle-unknown"),
        pytest.param({"marker_mm": ((0, 0, float("nan")),)}, "not a number", id="shape-nan"),
        pytest.param({"marker_mm": ((1, 2, 3), (1, 2))}, "not three of them", id="shape-ragged"),
        pytest.param({"marker_mm": ((1, 2), (3, 4), (5, 6))}, "not three of them", id="shape-flat"),
        pytest.param({"marker_mm": "abc"}, "not a number", id="shape-text"),
    ],
)
def test_what_is_not_known_is_asked_for(change, words):
    with pytest.raises(ScaleError, match=words):
        both(**change)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"shifted": view(canals={"DB": PATH})}, "the same canals on both", id="other-canal"),
        pytest.param({"shifted": view(canals={"MB": PATH[:3]})}, "four points or more", id="few"),
        pytest.param({"shifted": view(instruments={})}, "not marked on both images", id="no-instrument"),
        pytest.param({"shifted": view(marker_px=[(1, 2)])}, "0 and 1 marks beside", id="marker-count"),
        pytest.param(
            {"instruments": (KnownInstrument("MB", 20.0), KnownInstrument("MB", 20.0))},
            "two instruments of known length in one canal",
            id="instrument-twice",
        ),
    ],
)
def test_marks_must_match_between_the_images(change, words):
    with pytest.raises(MarkError, match=words):
        both(**change)


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        pytest.param(
            {"canals": {"MB": [(0, 0), (1, float("nan")), (2, 2)]}}, MarkError, "not a number", id="nan"
        ),
        pytest.param({"marker_px": [(0.0, float("inf"))]}, MarkError, "no points", id="marker-inf"),
        pytest.param({"marker_px": [(0.0, 1.0), (2.0,)]}, MarkError, "no points", id="marker-ragged"),
        pytest.param({"marker_px": ["a"]}, MarkError, "no points", id="marker-text"),
        pytest.param({"pitch_mm": (0.0, 0.02)}, ScaleError, "0.005 to 0.5 mm", id="pitch"),
    ],
)
def test_marks_that_are_no_numbers_are_refused(change, error, words):
    with pytest.raises(error, match=words):
        view(**change)


@pytest.mark.parametrize("spread", [float("nan"), -0.1, 3.0, "0.05"])
def test_a_spread_of_marks_beside_that_is_none_is_refused(spread):
    _, marks = pair(740003)
    with pytest.raises(MarkError, match="0 to 2 mm"):
        solve_two_views(marks, reference_mm=spread)


@pytest.mark.parametrize(
    ("length", "limit", "words"),
    [
        pytest.param(3.0, 0.5, "5 to 40 mm", id="short"),
        pytest.param(float("nan"), 0.5, "5 to 40 mm", id="nan"),
        pytest.param(20.0, 11.0, "less than half the length", id="limit"),
    ],
)
def test_an_impossible_instrument_is_refused(length, limit, words):
    with pytest.raises(ScaleError, match=words):
        KnownInstrument("MB", length, limit)


@pytest.mark.parametrize(
    ("shift", "mesial", "sign"),
    [
        pytest.param("right", None, 1.0, id="right"),
        pytest.param("left", None, -1.0, id="left"),
        pytest.param("mesial", "left", -1.0, id="mesial-left"),
        pytest.param("mesial", "right", 1.0, id="mesial-right"),
        pytest.param("distal", "left", 1.0, id="distal-right"),
    ],
)
def test_the_direction_may_be_told_in_either_way(shift, mesial, sign):
    assert both(shift=shift, mesial_side=mesial).sign == sign
