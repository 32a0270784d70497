import numpy as np
import pytest

from radlength.errors import ScaleError
from radlength.geometry import fit_curve
from radlength.phantom import random_scene, simulate_marks
from radlength.scale import Frame, Reference
from radlength.scale.combine import ScaleEstimate, combine_scales, scale_estimates
from radlength.uncertainty import Marking

WIRE = ScaleEstimate("wire", 0.950, 0.010)
FILE = ScaleEstimate("instrument", 0.955, 0.005)
BALL = ScaleEstimate("ball", 0.960, 0.030)


def test_one_scale_stays_as_it_is():
    alone = combine_scales([WIRE])
    assert (alone.mm_per_unit, alone.u_share, alone.weights) == (
        pytest.approx(0.95),
        pytest.approx(0.01),
        (pytest.approx(1.0),),
    )
    assert alone.probability == 1.0


def test_the_surest_scale_weighs_most():
    both = combine_scales([WIRE, FILE, BALL])
    assert sum(both.weights) == pytest.approx(1.0)
    assert max(both.weights) == both.weights[1]
    assert both.u_share < FILE.u_share
    assert both.findings == ()


def test_the_odd_one_out_is_named():
    wrong = ScaleEstimate("rod", 1.05, 0.010)
    found = combine_scales([WIRE, FILE, BALL, wrong])
    (finding,) = found.findings
    assert finding.subject == "rod"
    assert "rod is the odd one out, +10" in finding.sentence
    assert found.probability < 1e-6


def test_of_two_that_disagree_neither_is_blamed():
    (finding,) = combine_scales([FILE, ScaleEstimate("rod", 1.05, 0.010)]).findings
    assert finding.subject is None
    assert "instrument and rod differ by 9.9 %" in finding.sentence


def test_disagreement_widens_the_uncertainty():
    wrong = ScaleEstimate("rod", 1.05, 0.010)
    assert combine_scales([WIRE, wrong]).u_share > 4 * 0.01 / 2**0.5


def test_what_is_shared_does_not_average_out():
    shared = [ScaleEstimate(name, 0.95, 0.001, shared_share=0.02) for name in "abcdefgh"]
    assert combine_scales(shared).u_share == pytest.approx(0.02, rel=0.01)


def test_what_is_shared_makes_no_disagreement():
    pair = [ScaleEstimate("a", 0.95, 0.001, 0.02), ScaleEstimate("b", 0.97, 0.001, 0.02)]
    assert combine_scales(pair).findings
    assert not combine_scales([ScaleEstimate(one.name, one.mm_per_unit, 0.02) for one in pair]).findings


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        pytest.param(("x", float("nan"), 0.01), "a scale of nan mm", id="nan"),
        pytest.param(("x", -1.0, 0.01), "a scale of -1.0 mm", id="negative"),
        pytest.param(("x", 1.0, 0.0), "uncertainty of 0.0", id="exact"),
        pytest.param(("x", 1.0, 0.01, -0.1), "shared relative standard uncertainty of -0.1", id="shared"),
    ],
)
def test_an_impossible_estimate_is_refused(fields, words):
    with pytest.raises(ScaleError, match=words):
        ScaleEstimate(*fields)


def test_nothing_cannot_be_combined():
    with pytest.raises(ScaleError, match="no scales to combine"):
        combine_scales([])


def several(seed, *, wrong=None):
    """Instrument, wire and rod of a simulated image; the length of one may be wrong by 15 %."""
    rng = np.random.default_rng(seed)
    scene = random_scene(seed, shown=("wire", "rod"))
    marks = simulate_marks(scene, None, rng, click_mm=0.05, end_mm=0.05, reference_mm=0.05)
    known = {
        "instrument": (marks.instruments["single"], scene.instruments[0].stop_to_tip_mm, "in_canal"),
        "wire": (marks.wire_px[[0, -1]], scene.wire.length_mm, "beside"),
        "rod": (marks.rod_px[[0, -1]], scene.rod.length_mm, "beside"),
    }
    references = [
        Reference(path, length * (1.15 if name == wrong else 1), 0.1, placement, name=name)
        for name, (path, length, placement) in known.items()
    ]
    spread = Marking(apex_mm=0.05, stop_mm=0.05, tip_mm=0.05, path_mm=0.05)
    frame = Frame(0.025, 0.025, "mm")
    return scene, marks, scale_estimates(references, canal_name="single", frame=frame, marking=spread)


def test_references_of_one_image_agree_as_often_as_they_should():
    """95 % on scenes where tooth and references lean apart by 5 degrees a piece; once in 10^4 more than bound."""
    found = [combine_scales(several(seed)[2]) for seed in range(743000, 743100)]
    assert sum(bool(one.findings) for one in found) <= 14
    assert all(one.weights[0] > 0.5 for one in found)


@pytest.mark.parametrize("wrong", ["instrument", "wire", "rod"])
def test_a_reference_of_a_wrong_length_is_named(wrong):
    """15 % is 3 mm on 20: a length read off the wrong mark."""
    named = [
        finding.subject
        for seed in range(743200, 743230)
        for finding in combine_scales(several(seed, wrong=wrong)[2]).findings
    ]
    assert len(named) >= 24
    assert named.count(wrong) >= 0.8 * len(named)


def test_wire_and_rod_together_are_no_surer_than_what_they_share():
    _, _, (_, wire, rod) = several(743300)
    both = combine_scales([wire, rod])
    assert wire.shared_share < both.u_share < combine_scales([wire]).u_share


def test_the_references_together_measure_as_well_as_the_best_of_them():
    errors = {"instrument": [], "wire": [], "together": []}
    for seed in range(743400, 743460):
        scene, marks, known = several(seed)
        length = fit_curve(marks.canals["single"] * 0.025).length
        scales = {one.name: one.mm_per_unit for one in known}
        scales["together"] = combine_scales(known).mm_per_unit
        for name, found in errors.items():
            found.append(abs(scales[name] * length - scene.canal().length_mm))
    p80 = {name: np.quantile(found, 0.8) for name, found in errors.items()}
    assert p80["together"] < 0.6 * p80["wire"]
    assert p80["together"] < 1.5 * p80["instrument"]
