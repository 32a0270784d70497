"""A small run of the validation study, its seed from the commit: what the README promises must hold in it.

The bounds leave room for 60 scenes a stratum; ``python tests/reference/validation.py`` is the full study.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import validation


@pytest.fixture(scope="module")
def rows():
    return validation.study(60, validation.commit_seed())


def chosen(rows, placement, bends=range(5)):
    return [row for row in rows if row.placement == placement and row.bend in bends]


def errors(rows):
    return np.array([row.error for row in rows])


@pytest.mark.parametrize("placement", validation.PLACEMENTS)
def test_intervals_hold_overall(rows, placement):
    held, _, below, above = validation.coverage(chosen(rows, placement))
    print(f"{placement}: {held:.3f} hold, truth below {below:.3f}, above {above:.3f}")
    assert held >= 0.93


@pytest.mark.parametrize("bend", range(4), ids=lambda bend: f"{validation.BENDS[bend][0]} degrees and more")
@pytest.mark.parametrize("placement", validation.PLACEMENTS)
def test_intervals_hold_in_every_stratum_up_to_forty_degrees(rows, placement, bend):
    held, *_ = validation.coverage(chosen(rows, placement, [bend]))
    assert held >= 0.88


def test_an_instrument_in_the_canal_is_close_where_the_bend_is_small(rows):
    found = errors(chosen(rows, "in_canal", [0, 1]))
    assert abs(found.mean()) <= 0.05
    assert np.quantile(abs(found), 0.95) <= 0.33


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
