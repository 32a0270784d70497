"""What a length-confirmation image is asked about, and what it is not: rules and sides by hand."""

import numpy as np
import pytest

from radlength.length import Canal, confirm_length, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

CAREFUL = Marking(0.02, 0.02, 0.02, 0.02)


def codes(gap, **change):
    fields = {"mm_per_px": 1.0, "rule": "tip within 3 mm", "marking": CAREFUL} | change
    return [finding.code for finding in confirm_length(21.0, gap, **fields).findings]


def test_an_interval_within_one_verdict_is_certain_and_one_over_an_edge_is_not():
    """The rule of 3 mm accepts 0.5 to 1 mm and repeats above 3: 1.6 mm less 0.1 to plus 1.25 is adjusted all along."""
    gap = [(0.0, 0.0), (1.6, 0.0)]
    assert "verdict-uncertain" not in codes(gap)
    assert "verdict-uncertain" in codes(gap, rule="tip within 1 mm", marking=Marking(tip_mm=1.0))
    assert "verdict-uncertain" in codes([(0.0, 0.0), (2.4, 0.0)])


@pytest.mark.parametrize(("beyond", "told"), [(False, True), (True, False)])
def test_a_tip_aside_is_asked_about_only_where_there_is_a_canal_to_lie_in(beyond, told):
    """Beyond the apex no canal runs that the tip could lie beside: an instrument leaves it in any direction."""
    path = [(row, 5.0) for row in np.linspace(0.0, 22.0, 8)]
    marked = estimate_length(
        Canal("11", "single", path), Reference([(0.0, 5.0), (21.0, 5.0)], 21.0, 0.25), marking=CAREFUL
    )
    tip = (22.5 if beyond else 21.5, 6.5)
    found = codes([tip, (22.0, 5.0)], beyond=beyond, estimate=marked)
    assert ("confirmation-gap-aside" in found) is told
    assert "confirmation-gap-direction" not in found


@pytest.mark.parametrize("clicks", [2, 3, 4, 6])
def test_both_ends_of_a_straight_gap_count_whole_and_clicks_between_not_at_all(clicks):
    """Of a straight line only its ends tell the length: each counts with its own spread, however many lie between."""
    gap = [(row, 0.0) for row in np.linspace(0.0, 1.5, clicks)]
    hand = Marking(apex_mm=0.3, tip_mm=0.1, path_mm=0.2)
    done = confirm_length(21.0, gap, mm_per_px=1.0, rule="tip within 1 mm", marking=hand, scale_share=0.02)
    u = {line.name: line.u_mm for line in done.budget.lines}
    assert (u["tip"], u["radiographic apex"]) == pytest.approx((0.1, 0.3))
    assert u.get("path", 0.0) == pytest.approx(0.0, abs=1e-9)
    assert u["scale"] == pytest.approx(0.03)
    assert u["set length"] == pytest.approx(0.25 / np.sqrt(3))
