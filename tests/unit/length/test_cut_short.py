"""An instrument in a bent canal, clicked at fewer points than its bend needs: said, and in the interval."""

import numpy as np
import pytest

from radlength.length import Canal, estimate_length, narrower
from radlength.scale import Reference
from radlength.uncertainty import Marking

CAREFUL = Marking(0.05, 0.05, 0.05, 0.05)


def bent(turn_deg, count, share=1.0):
    """Points along a canal of 21 mm in pixels of 0.02 mm, straight for 12 mm, then turning evenly."""
    along = np.linspace(0, 21 * share, count)
    radius = 9 / np.radians(turn_deg) if turn_deg else 1.0
    turn = np.clip(along - 12, 0, None) / radius
    rows = np.minimum(along, 12) + radius * np.sin(turn)
    columns = radius * (1 - np.cos(turn))
    if not turn_deg:
        rows, columns = along, 0 * along
    return np.column_stack([rows, columns]) / 0.02


def estimate(turn_deg, clicks, **reference):
    path = bent(turn_deg, clicks, 20 / 21)
    given = Reference(path, 20.0, 0.1, **{"canal": "MB", **reference})
    return estimate_length(Canal("46", "MB", bent(turn_deg, 10)), given, marking=CAREFUL)


def codes(found):
    return {finding.code: finding.severity for finding in found.findings}


@pytest.mark.parametrize("turn_deg", [30, 45, 60])
def test_stop_and_tip_alone_of_a_bent_instrument_are_said_and_the_interval_holds(turn_deg):
    found = estimate(turn_deg, 2)
    too_long = found.canal_length.value_mm - 21
    assert too_long > 0.2
    finding = next(one for one in found.findings if one.code == "reference-cut-short")
    assert finding.severity == ("serious" if too_long > 0.5 else "question")
    assert f"about {too_long:.1f} mm too long" in finding.sentence
    assert found.canal_length.low_mm < 21
    line = found.budget.lines[-1]
    assert (line.name, line.high_mm) == ("bend of the reference", 0.0)
    assert line.low_mm == pytest.approx(1.5 * too_long, rel=0.05)
    way = next(way for way in narrower(found) if way.code == "click-instrument")
    assert (way.canal_length.low_mm - found.canal_length.low_mm) > 0.02
    assert not way.exposes


@pytest.mark.parametrize("turn_deg", [30, 45, 60])
@pytest.mark.parametrize("clicks", [2, 3])
def test_a_bent_canal_marked_straighter_than_its_instrument_is_said_and_the_interval_holds(turn_deg, clicks):
    """The instrument tells the bend as far as it reaches, most of what is missing; the truth is 21 mm."""
    known = Reference(bent(turn_deg, 8, 20 / 21), 20.0, 0.1, canal="MB")
    found = estimate_length(Canal("46", "MB", bent(turn_deg, clicks)), known, marking=CAREFUL)
    too_short = 21 - found.canal_length.value_mm
    assert found.canal_length.high_mm > 21
    lines = [line for line in found.budget.lines if line.name == "bend of the canal"]
    assert bool(lines) is ("canal-cut-short" in codes(found)) is (too_short > 0.15)
    for line in lines:
        assert line.low_mm == 0.0
        assert 0.7 * too_short < line.high_mm / 1.5 < 1.02 * too_short
        assert codes(found)["canal-cut-short"] == ("serious" if line.high_mm > 0.75 else "question")
        way = next(way for way in narrower(found) if way.code == "click-canal")
        assert way.canal_length.high_mm < found.canal_length.high_mm - 0.02


def test_the_interval_holds_where_a_strongly_bent_canal_is_marked_by_its_ends_alone():
    rng, held = np.random.default_rng(8), 0
    for _ in range(200):
        turn, share = rng.uniform(40, 60), rng.uniform(0.955, 0.99)
        canal, tool = bent(turn, 2), bent(turn, 6, share)
        canal += rng.normal(0, 2.5, canal.shape)
        tool += rng.normal(0, 2.5, tool.shape)
        given = Reference(tool, 21 * share, 0.1, canal="MB")
        found = estimate_length(Canal("46", "MB", canal), given, marking=CAREFUL).canal_length
        held += found.low_mm <= 21 <= found.high_mm
    assert held >= 184  # of 200; a 95 % interval does not go lower in 98 of 100 such runs (binomial)


@pytest.mark.parametrize(("turn_deg", "clicks"), [(0, 2), (10, 2), (45, 5), (45, 8)])
def test_nothing_is_said_of_an_instrument_marked_as_it_runs(turn_deg, clicks):
    found = estimate(turn_deg, clicks)
    assert "reference-cut-short" not in codes(found)
    assert all(line.name != "bend of the reference" for line in found.budget.lines)
    assert found.canal_length.value_mm == pytest.approx(21, abs=0.05)


@pytest.mark.parametrize("reference", [{"placement": "beside", "canal": None}, {"canal": "DB"}])
def test_what_lies_elsewhere_is_not_compared_with_this_canal(reference):
    assert "reference-cut-short" not in codes(estimate(45, 2, **reference))


def test_a_stop_above_the_reference_point_and_a_tip_beyond_the_apex_are_no_bend():
    path = [(-100.0, 0.0), (1150.0, 0.0)]
    canal = Canal("11", "single", bent(0, 8))
    found = estimate_length(canal, Reference(path, 25.0, 0.1, canal="single"), marking=CAREFUL)
    assert "reference-cut-short" not in codes(found)


@pytest.mark.parametrize("turn_deg", [0, 45])
def test_a_canal_marked_the_other_way_round_is_no_bend(turn_deg):
    known = Reference(bent(turn_deg, 8, 20 / 21), 20.0, 0.1, canal="MB")
    ways = [
        estimate_length(Canal("46", "MB", bent(turn_deg, 8)[::step]), known, marking=CAREFUL)
        for step in (1, -1)
    ]
    assert "path-reversed" in codes(ways[1])
    assert "canal-cut-short" not in codes(ways[1])
    assert ways[1].canal_length.high_mm == pytest.approx(ways[0].canal_length.high_mm, abs=0.05)


@pytest.mark.parametrize("turn_deg", [0, 30, 60])
def test_a_cusp_aside_of_the_stop_is_no_bend(turn_deg):
    path = bent(turn_deg, 8)
    path[0] += (0, 1.5 / 0.02)
    known = Reference(bent(turn_deg, 6, 20 / 21), 20.0, 0.1, canal="MB")
    found = estimate_length(Canal("46", "MB", path), known, marking=CAREFUL)
    assert not {"canal-cut-short", "reference-cut-short"} & codes(found).keys()


def test_a_straight_instrument_aslant_to_the_canal_is_no_bend():
    aslant = Reference([(0.0, 0.0), (940.0, 340.0)], 20.0, 0.1, canal="MB")
    found = estimate_length(Canal("46", "MB", bent(0, 8)), aslant, marking=CAREFUL)
    assert "reference-elsewhere" in codes(found)
    assert "canal-cut-short" not in codes(found)


@pytest.mark.parametrize("spread", [0.05, 0.1, 0.2])
def test_trembling_marks_on_a_straight_instrument_are_seldom_called_bent(spread):
    rng = np.random.default_rng(11)
    marking, said = Marking(spread, spread, spread, spread), 0
    for _ in range(200):
        canal, tool = bent(0, 8), bent(0, 3, 20 / 21)
        canal += rng.normal(0, spread / 0.02, canal.shape)
        tool += rng.normal(0, spread / 0.02, tool.shape)
        found = estimate_length(Canal("11", "MB", canal), Reference(tool, 20.0, 0.1), marking=marking)
        said += bool({"reference-cut-short", "canal-cut-short"} & codes(found).keys())
    assert said <= 2
