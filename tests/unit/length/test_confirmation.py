from dataclasses import replace

import numpy as np
import pytest

from radlength.errors import MarkError, TradeError
from radlength.finding import Finding
from radlength.length import Canal, Terminus, confirm_length, estimate_length
from radlength.scale import Reference
from radlength.trade import CAUTION, repeat_rules
from radlength.uncertainty import Marking

RULE = "tip within 1 mm"


def confirm(gap_px=100, **change):
    fields = {"mm_per_px": 0.01, "rule": RULE} | change
    return confirm_length(21.0, [(0, 0), (gap_px, 0)], **fields)


def test_the_gap_is_added_and_the_offset_taken():
    done = confirm(150, terminus=Terminus(offset_mm=1.0))
    assert done.canal_length.value_mm == pytest.approx(22.5)
    assert done.working_length.value_mm == pytest.approx(21.5)


def test_without_a_terminus_no_working_length():
    assert confirm().working_length is None


def test_a_tip_beyond_shortens_the_length_and_is_serious():
    done = confirm(60, beyond=True)
    assert done.canal_length.value_mm == pytest.approx(20.4)
    assert done.verdict == "repeat"
    assert {finding.severity for finding in done.findings if finding.code == "tip-beyond-apex"} == {"serious"}


def test_a_tip_beyond_is_said_to_be_longer_than_it_looks():
    assert "long-is-longer" in [finding.code for finding in confirm(60, beyond=True).findings]
    assert "long-is-longer" not in [finding.code for finding in confirm(60).findings]


@pytest.mark.parametrize(("tooth", "warned"), [("46", True), ("11", False), (None, False)], ids=str)
def test_a_short_looking_tip_in_a_back_tooth_may_be_through(tooth, warned):
    assert ("posterior" in [finding.code for finding in confirm(tooth=tooth).findings]) is warned


def test_an_error_of_the_scale_moves_only_the_gap():
    """A 5 % error of magnification moves 1.7 mm of gap by 0.086 mm, 22 mm of canal by 1.1 mm."""
    plain, off = (confirm(171.4, mm_per_px=scale).canal_length.value_mm for scale in (0.01, 0.0105))
    assert off - plain == pytest.approx(0.086, abs=0.001)


def test_a_tip_beyond_has_the_longer_arm_on_the_dangerous_side():
    short, long = confirm(150), confirm(150, beyond=True)
    assert short.gap.upper_arm > short.gap.lower_arm
    assert long.gap.lower_arm > long.gap.upper_arm
    assert long.gap.lower_arm > 1.5 * short.gap.lower_arm


def test_a_gap_at_the_edge_of_the_rule_is_said_to_be_unsure():
    assert "verdict-uncertain" in [finding.code for finding in confirm(98).findings]


@pytest.mark.parametrize("rule", repeat_rules(), ids=str)
def test_every_rule_gives_a_verdict_and_its_source(rule):
    done = confirm(75, rule=rule)
    assert done.verdict in ("accept", "adjust", "repeat")
    assert done.as_dict()["rule_source"]
    assert done.as_dict()["caution"] == CAUTION


def test_pixels_that_are_not_square():
    done = confirm_length(21.0, [(0, 0), (0, 100)], mm_per_px=(0.01, 0.02), rule=RULE)
    assert done.gap.value_mm == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("length", "limit", "scale", "words"),
    [
        pytest.param(
            0.0, 0.25, 0.01, "^a set length of 0 mm; 5 to 60 mm, from the stop to the tip; ", id="none"
        ),
        pytest.param(210.0, 0.25, 0.01, "^a set length of 210 mm; 5 to 60 mm", id="tenths"),
        pytest.param(float("nan"), 0.25, 0.01, "^a set length of nan mm; 5 to 60 mm", id="nan"),
        pytest.param("21", 0.25, 0.01, "^a set length of '21' mm; 5 to 60 mm", id="text"),
        pytest.param(None, 0.25, 0.01, "^a set length of None mm; 5 to 60 mm", id="nothing"),
        pytest.param(21.0, "0.25", 0.01, "known to plus or minus '0.25' mm; 0 to 5 mm", id="limit-text"),
        pytest.param(21.0, -1.0, 0.01, "known to plus or minus -1 mm; 0 to 5 mm", id="limit"),
        pytest.param(
            21.0, 0.25, 0.0, "^a scale of 0 x 0 mm for a pixel, .*; a positive scale", id="no-scale"
        ),
    ],
)
def test_impossible_input_is_refused(length, limit, scale, words):
    with pytest.raises(MarkError, match=words):
        confirm_length(length, [(0, 0), (100, 0)], mm_per_px=scale, rule=RULE, set_limit_mm=limit)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"terminus": 1.0}, "^float as a terminus; a Terminus, or None"),
        ({"marking": 0.1}, "^float as a marking; a Marking, or None"),
        ({"estimate": 21.8}, "^float as an estimate; what estimate_length returned"),
    ],
)
def test_what_is_no_terminus_marking_or_estimate_is_refused(change, words):
    with pytest.raises(MarkError, match=words):
        confirm(**change)


def test_the_rule_is_never_defaulted():
    with pytest.raises(TypeError, match="rule"):
        confirm_length(21.0, [(0, 0), (100, 0)], mm_per_px=0.01)
    with pytest.raises(TradeError, match=RULE):
        confirm(rule="by feel")


ESTIMATE = estimate_length(
    Canal(tooth="11", name="single", path_px=[(0, 0), (1000, 0), (2180, 0)]),
    Reference(path_px=[(0, 0), (1000, 0), (2100, 0)], length_mm=21.0, limit_mm=0.25),
)
"""A hundredth of a millimetre per pixel: 21.8 mm."""


def beside_estimate(set_length, gap_path=((2100, 0), (2180, 0)), **change):
    fields = {"mm_per_px": 0.01, "rule": RULE, "estimate": ESTIMATE} | change
    found = confirm_length(set_length, gap_path, **fields).findings
    return {finding.code: finding.severity for finding in found}


def test_set_length_and_gap_are_compared_with_the_marks_by_their_intervals():
    assert "confirmation-conflict" not in beside_estimate(21.0)
    assert beside_estimate(12.0)["confirmation-conflict"] == "serious"
    assert beside_estimate(25.0)["confirmation-conflict"] == "serious"
    assert "confirmation-conflict" not in beside_estimate(25.0, set_limit_mm=5.0)
    assert "confirmation-conflict" not in beside_estimate(12.0, estimate=None)


def test_the_gap_ends_at_the_marked_apex():
    assert "confirmation-gap-elsewhere" not in beside_estimate(21.0)
    assert "confirmation-gap-elsewhere" not in beside_estimate(21.0, [(2100, 199), (2180, 199)])
    assert beside_estimate(21.0, [(2100, 201), (2180, 201)])["confirmation-gap-elsewhere"] == "serious"
    square = {"mm_per_px": (0.01, 0.005)}
    assert "confirmation-gap-elsewhere" not in beside_estimate(21.0, [(2100, 390), (2180, 390)], **square)


@pytest.mark.parametrize("beyond", [False, True])
def test_a_whole_canal_is_no_gap(beyond):
    assert "confirmation-gap-long" not in [f.code for f in confirm(499, beyond=beyond).findings]
    assert {
        f.severity for f in confirm(501, beyond=beyond).findings if f.code == "confirmation-gap-long"
    } == {"serious"}


@pytest.mark.parametrize("rule", repeat_rules())
def test_a_bend_that_may_hide_in_a_large_gap_is_said_as_the_estimate_says_it(rule):
    """Gaps of 3 to 6 mm whose canal bends over 30 degrees along the beam: 0.83 of the intervals held (simulated)."""
    found = {f.code: f for f in confirm(201, rule=rule).findings}
    assert found["gap-large"].severity == "question"
    assert (
        found["gap-large"].sentence
        == "The tip is 2.0 mm from the apex; one view does not show a bend along the beam there."
    )
    for cases in (confirm(200, rule=rule), confirm(201, rule=rule, beyond=True), confirm(501, rule=rule)):
        assert "gap-large" not in [f.code for f in cases.findings]


def test_what_is_serious_about_the_estimate_is_carried_over_once():
    doubts = (Finding("magnification-odd", "X.", "Y.", "serious"), Finding("few-clicks", "X.", "Y."))
    found = beside_estimate(21.0, estimate=replace(ESTIMATE, findings=doubts))
    assert found["magnification-odd"] == "serious"
    assert "few-clicks" not in found
    beyond = Finding("tip-beyond-apex", "The reference.", "Y.", "serious")
    done = confirm(60, beyond=True, estimate=replace(ESTIMATE, findings=(beyond,)))
    assert [finding.code for finding in done.findings].count("tip-beyond-apex") == 1


@pytest.mark.parametrize("gap_mm", [0.0, 0.1, 0.3, 0.6, 1.0, 2.0])
def test_the_interval_holds_the_gap_however_near_the_tip_is_to_the_apex(gap_mm):
    """Trembling marks lie apart even where there is no gap: only the lower arm can make that good."""
    rng, marking, held = np.random.default_rng(8080), Marking(), 0
    for _ in range(1000):
        ends = np.array([(0.0, 5.0), (gap_mm, 5.0)])
        ends += rng.normal(0, [[marking.tip_mm], [marking.apex_mm]], (2, 2))
        gap = confirm_length(21.0, ends, mm_per_px=1.0, rule=RULE).gap
        held += gap.low_mm <= gap_mm <= gap.high_mm
    assert held >= 936  # 0.95 less two standard errors


def test_clicks_along_a_gap_tremble_too():
    bent = [(0.0, 0.0), (0.8, 0.5), (1.6, 0.2), (2.2, 0.4)]
    calm, unsure = (
        confirm_length(21.0, bent, mm_per_px=1.0, rule=RULE, marking=Marking(path_mm=sd)) for sd in (0.0, 0.3)
    )
    assert unsure.gap.u > calm.gap.u


@pytest.mark.parametrize("scale", [True, "0.01", (0.01,), (0.01, 0.01, 0.01), None, [0.01, "a"]], ids=str)
def test_a_scale_that_is_no_number_is_refused_in_words(scale):
    with pytest.raises(MarkError, match=r"^a scale of .*; millimetres for a pixel, or \(down, across\)"):
        confirm(mm_per_px=scale)


@pytest.mark.parametrize(
    ("tip_row", "beyond", "severity"),
    [
        (2100, False, None),
        (2220, True, None),
        (2190, False, None),  # 0.1 mm the other way: the marks may tremble so
        (2225, False, "question"),
        (2280, False, "serious"),
        (2100, True, "serious"),
    ],
)
def test_a_tip_said_to_lie_on_the_other_side_of_the_apex_is_told(tip_row, beyond, severity):
    """A tip taken for short though it is beyond makes the canal longer by twice the gap: the dangerous side."""
    found = beside_estimate(21.0, gap_path=((tip_row, 0), (2180, 0)), beyond=beyond)
    assert found.get("confirmation-gap-direction") == severity
