"""Two lines of metal whose shadows lie on one another, fitted as a whole: drawn as sums, found again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.special import ndtr

from radlength.tracing.pair import find_pair
from radlength.tracing.pair_ends import pair_strip
from radlength.tracing.pair_fit import fit_one, fit_two, gain
from radlength.tracing.pair_model import Grid, added_by, explained, limits, moves, patch_of
from radlength.tracing.pair_sums import ACROSS_MM
from radlength.tracing.pair_whole import whole_ends
from radlength.tracing.strip import steps
from radlength.tracing.tip import find_end

SIDE_MM = 0.03
SIDES = np.full(2, SIDE_MM)


def image(lines, *, white=np.inf, noise=1.0):
    """Return grey of round wires (place across at the end, slope, end, radius): thickness added up and blurred."""
    rows, columns = np.mgrid[:320, :240] * SIDE_MM
    thick = np.zeros(rows.shape)
    for place, slope, end, radius in lines:
        away = columns - place - slope * (rows - end)
        thick += 2 * np.sqrt(np.clip(radius**2 - away**2, 0, None)) * ndtr((end - rows) / 0.03)
    grey = 90 + 300 * gaussian_filter(thick, 0.05 / SIDE_MM)
    return np.minimum(grey + np.random.default_rng(8).normal(0, noise, grey.shape), white)


def found(grey, guess):
    """Return the end that a line near a guess seems to have, and those of two where two are told."""
    line = np.column_stack(
        [steps(1, guess[0] + 0.8, 0.1), np.full(round((guess[0] - 0.2) * 10) + 1, guess[1])]
    )
    end = find_end(grey, line, guess, SIDES, guess_sd_mm=0.25)
    return end, whole_ends(pair_strip(grey, line, guess, SIDES), end)


@pytest.mark.parametrize(
    "lines",
    [
        ((3.5, 0.0, 6.0, 0.08), (3.6, 0.0, 6.25, 0.08)),
        ((3.5, 0.04, 6.0, 0.12), (3.66, -0.04, 6.2, 0.12)),
        ((3.45, -0.08, 6.1, 0.1), (3.6, 0.08, 5.8, 0.1)),
    ],
    ids=["side by side", "thick", "crossing"],
)
def test_both_ends_of_two_lines_that_lie_on_one_another(lines):
    _, both = found(image(lines), np.array([6.1, 3.55]))
    true = np.array([(at, place) for place, _, at, _ in lines])
    ends = np.array(sorted((one.point_mm for one in both), key=lambda one: one[1]))
    assert ends.shape == (2, 2)
    assert np.abs(ends - true).max() < 0.04


@pytest.mark.parametrize("radius", [0.05, 0.1, 0.2])
@pytest.mark.parametrize("white", [np.inf, 140.0])
def test_one_line_is_not_told_as_two(radius, white):
    grey = image([(3.5, 0.03, 6.0, radius)], white=white)
    assert found(grey, np.array([6.1, 3.55]))[1] == ()


def test_lines_that_are_seen_apart_are_left_to_each_its_own():
    grey = image([(3.2, 0.0, 6.0, 0.1), (3.9, 0.0, 6.3, 0.1)])
    assert found(grey, np.array([6.1, 3.25]))[1] == ()


def strip_of(lines):
    """Return a strip of an image and its places along, 0 at 6 mm."""
    at = steps(-3.2, 1.5, 0.04)
    rows, columns = np.meshgrid(6 + at, 3.5 + ACROSS_MM, indexing="ij")
    return map_coordinates(image(lines), [rows / SIDE_MM, columns / SIDE_MM], order=1), at


def test_the_fit_knows_how_its_squares_change():
    """The short form of the derivative has the gradient of the squares (Kaufman 1975)."""
    strip, at = strip_of([(3.5, 0.0, 6.0, 0.08), (3.6, 0.0, 6.25, 0.08)])
    patch = patch_of(strip, at, ACROSS_MM, 0.1, 0.05)
    place = np.array([0.02, 0.01, 0, 0.05, 0.08, 0, 0.01, 0.2, 0.075, 0.012, 0.065, 0.4])
    parts = explained(patch, place)
    mine = -2 * moves(patch, place, parts) @ parts.rest
    step = 1e-4
    each = np.eye(len(place)) * step
    true = [
        (explained(patch, place + one).squares - explained(patch, place - one).squares) / (2 * step)
        for one in each
    ]
    assert mine == pytest.approx(true, abs=0.1 * np.abs(true).max())
    assert (mine @ true) / (np.linalg.norm(mine) * np.linalg.norm(true)) > 0.99


def test_two_lines_are_likelier_where_there_are_two():
    told = []
    for lines in ([(3.5, 0.0, 6.0, 0.1)], [(3.5, 0.0, 6.0, 0.08), (3.6, 0.0, 6.25, 0.08)]):
        strip, at = strip_of(lines)
        patch = patch_of(strip, at, ACROSS_MM, 0.0, 0.0)
        one = fit_one(patch, 0.0, 0.0)
        two = fit_two(patch, one, find_pair(strip, at, 0.0), at)
        low, high = limits(two.found)
        assert ((two.found >= low) & (two.found <= high)).all()
        told.append(gain(patch, one, two))
    assert told[0] < 12
    assert told[1] > 40


def test_what_one_line_adds_is_nothing_past_its_end():
    grid = Grid(steps(-2, 1.4, 0.1), ACROSS_MM)
    two = np.array([0, 0, 0, 0, 0.1, 0, 0, 0.3, 0.08, 0.01, 0.05, 0.5])
    added = added_by(grid, two, np.array([50.0, 0.0]), 1)
    assert np.abs(added[grid.along_mm > 0.6]).max() < 0.01
    assert added[grid.along_mm < -0.5].max() == pytest.approx(50, abs=20)


@pytest.mark.parametrize("grey", [np.zeros((320, 240)), np.full((320, 240), 90.0)], ids=["black", "even"])
def test_nothing_is_told_where_the_image_shows_nothing(grey):
    assert found(grey, np.array([6.1, 3.55]))[1] == ()


def test_nothing_is_told_where_all_that_is_fitted_is_black():
    """Something lies in the strip, nothing in the part of it that is fitted."""
    grey = np.zeros((320, 240), np.uint8)
    grey[107, 117] = 255
    assert found(grey, np.array([6.1, 3.55]))[1] == ()


@pytest.mark.parametrize("end_mm", [0.5, 3.0, 7.3, 9.5])
def test_nothing_is_told_where_an_end_lies_far_from_the_guess(end_mm):
    grey = image([(3.5, 0.0, 6.0, 0.08), (3.6, 0.0, 6.25, 0.08)])
    end, _ = found(grey, np.array([6.1, 3.55]))
    line = np.column_stack([steps(1, 7, 0.1), np.full(61, 3.55)])
    moved = replace(end, point_mm=np.array([end_mm, 3.55]))
    for one in whole_ends(pair_strip(grey, line, np.array([6.1, 3.55]), SIDES), moved):
        assert np.isfinite(one.point_mm).all()
