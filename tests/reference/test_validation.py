"""The validation study, its seed from the commit: what the README promises must hold in it, in every stratum."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import validation

SCENES = 1000


@pytest.fixture(scope="module")
def rows():
    return validation.study(SCENES, validation.commit_seed())


def chosen(rows, placement, bends=range(5)):
    return [row for row in rows if row.placement == placement and row.bend in bends]


def errors(rows):
    return np.array([row.error for row in rows])


def test_intervals_hold_overall_and_are_not_too_wide(rows):
    for placement in validation.PLACEMENTS:
        held, _, below, above = validation.coverage(chosen(rows, placement))
        print(f"{placement}: {held:.3f} hold, truth below {below:.3f}, above {above:.3f}")
        assert held >= 0.93
    assert 0.93 <= validation.coverage(rows)[0] <= 0.98


@pytest.mark.parametrize("gap", range(2), ids=["gap to 2 mm", "gap 2 to 4 mm"])
@pytest.mark.parametrize("bend", range(5), ids=lambda bend: f"{validation.BENDS[bend][0]} degrees and more")
@pytest.mark.parametrize("placement", validation.PLACEMENTS)
def test_intervals_hold_in_every_stratum(rows, placement, bend, gap):
    stratum = [row for row in chosen(rows, placement, [bend]) if row.gap == gap]
    assert len(stratum) == SCENES
    _, lower_bound, *_ = validation.coverage(stratum)
    assert lower_bound >= 0.92


def test_the_interval_of_an_instrument_near_the_apex_is_useful(rows):
    arms = np.array([(row.low, row.high) for row in chosen(rows, "in_canal") if row.gap == 0])
    lower, upper = np.median(arms, axis=0)
    assert lower <= 0.35
    assert upper <= 0.60


def test_the_ratio_of_an_instrument_in_the_canal_is_close():
    """The 95 % quantile of 1000 scenes varies by 0.015 mm from draw to draw, with some far out: three times as many."""
    found = validation.ratio_errors(3 * SCENES, np.random.default_rng(validation.commit_seed()))
    assert abs(found.mean()) <= 0.05
    assert np.quantile(abs(found), 0.95) <= 0.33


def test_perfect_marks_on_a_canal_with_little_bend_along_the_beam():
    rng = np.random.default_rng(validation.commit_seed())
    found = validation.ratio_errors(SCENES, rng, trembling=False, bend_below=20, gap_mm=(0.5, 2.0))
    assert np.quantile(abs(found), 0.95) <= 0.12


def test_beside_and_header_are_much_worse_and_their_arms_say_so(rows):
    spread = {place: errors(chosen(rows, place)).std() for place in validation.PLACEMENTS}
    arms = {place: np.median([row.high for row in chosen(rows, place)]) for place in validation.PLACEMENTS}
    assert spread["beside"] > 1.8 * spread["in_canal"]
    assert arms["in_canal"] < arms["beside"] < arms["header"]


def test_uncorrected_pixels_fail(rows):
    plain = np.array([row.uncorrected for row in chosen(rows, "in_canal")])
    assert np.quantile(abs(plain), 0.95) > 3 * np.quantile(
        abs(errors(chosen(rows, "in_canal", [0, 1]))), 0.95
    )


def test_the_same_seed_gives_the_same_study():
    one, two = (validation.study(1, 5) for _ in range(2))
    assert one == two
    assert len(validation.table(one)) > 30
