import pytest

from radlength.errors import MarkError, TradeError
from radlength.length import Terminus, confirm_length
from radlength.trade import CAUTION, repeat_rules

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
        pytest.param(21.0, -1.0, 0.01, "known to plus or minus -1 mm; 0 to 5 mm", id="limit"),
        pytest.param(
            21.0, 0.25, 0.0, "^a scale of 0 x 0 mm for a pixel, .*; a positive scale", id="no-scale"
        ),
    ],
)
def test_impossible_input_is_refused(length, limit, scale, words):
    with pytest.raises(MarkError, match=words):
        confirm_length(length, [(0, 0), (100, 0)], mm_per_px=scale, rule=RULE, set_limit_mm=limit)


def test_the_rule_is_never_defaulted():
    with pytest.raises(TypeError, match="rule"):
        confirm_length(21.0, [(0, 0), (100, 0)], mm_per_px=0.01)
    with pytest.raises(TradeError, match=RULE):
        confirm(rule="by feel")
