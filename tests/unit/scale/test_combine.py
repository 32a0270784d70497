import pytest

from radlength.errors import ScaleError
from radlength.scale.combine import ScaleEstimate, combine_scales

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
