"""The curve through a few clicks: exact where they tell enough, and without a swing where they lie unevenly."""

import numpy as np
import pytest

from radlength.geometry import fit_curve
from radlength.tracing.likely_curve import likely_curve

LENGTH_MM, RADIUS_MM = 20.0, 25.0
ALONG_MM = np.linspace(0, LENGTH_MM, 2001)
BEND = np.clip(ALONG_MM - 12, 0, None) / RADIUS_MM
"""A canal that is straight for 12 mm and then bends along a circle."""
STEP_MM = LENGTH_MM / (len(ALONG_MM) - 1)
CANAL = np.column_stack([np.cumsum(np.cos(BEND)), np.cumsum(np.sin(BEND))]) * STEP_MM
WAYS = {
    "even": (0, 0.25, 0.5, 0.75, 1),
    "in the bend": (0, 0.4, 0.6, 0.75, 0.88, 1),
    "few in the bend": (0, 0.6, 0.8, 1),
    "close": (0, 0.3, 0.35, 0.4, 0.45, 0.5, 0.9, 1),
}


def clicks(parts, rng=None):
    exact = CANAL[[round(part * (len(CANAL) - 1)) for part in parts]]
    return exact if rng is None else exact + rng.normal(0, 0.1, exact.shape)


def away_mm(curve):
    points = curve.resample(200)
    return np.hypot(*(points[:, None] - CANAL[None, ::10]).transpose(2, 0, 1)).min(axis=1).max()


@pytest.mark.parametrize("parts", WAYS.values(), ids=WAYS)
def test_exact_clicks_give_the_canal_and_the_ends_are_kept(parts):
    given = clicks(parts)
    curve = likely_curve(given)
    assert away_mm(curve) < 0.2
    assert curve.resample(50)[[0, -1]] == pytest.approx(given[[0, -1]])


@pytest.mark.parametrize("name", ["in the bend", "few in the bend"])
def test_clicks_that_crowd_make_no_swing(name):
    """A polynomial through clicks off by 0.1 mm swings by several times that where there is none."""
    off = np.array(
        [
            [
                away_mm(fit(clicks(WAYS[name], np.random.default_rng(seed))))
                for fit in (likely_curve, fit_curve)
            ]
            for seed in range(40)
        ]
    )
    ours, polynomial = np.quantile(off, 0.9, axis=0)
    assert ours < 0.4
    assert ours < 0.75 * polynomial


def test_evenly_placed_clicks_lose_nothing():
    off = np.array(
        [
            [
                away_mm(fit(clicks(WAYS["even"], np.random.default_rng(seed))))
                for fit in (likely_curve, fit_curve)
            ]
            for seed in range(40)
        ]
    )
    assert np.mean(off[:, 0]) <= np.mean(off[:, 1])


def test_two_clicks_are_a_straight_line():
    points = likely_curve(np.array([[0.0, 0.0], [10.0, 5.0]])).resample(5)
    assert points == pytest.approx(np.linspace([0, 0], [10, 5], 5))


def test_turned_clicks_give_the_curve_turned():
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    given = clicks(WAYS["in the bend"], np.random.default_rng(3))
    assert likely_curve(given @ turn.T).resample(30) == pytest.approx(
        likely_curve(given).resample(30) @ turn.T
    )
