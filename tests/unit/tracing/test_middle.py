"""The middle of a root beside a line, on strips whose sides are drawn where they are known to be."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from radlength.tracing.corridor import EVERY, WIDE_ACROSS_MM
from radlength.tracing.middle import ROOT_ENDS, ROWS, middle_beside

COUNT = 80
"""Rows of the evidence: 12 mm."""
AROUND = np.full(COUNT, 4.0)
STRAIGHT = np.zeros(COUNT)
LAST_MM = np.arange(COUNT)[::-1] * 0.15


def strip(middle_mm, half_mm=1.1, bone=110.0, seed=0):
    """A root of dentine, 160, in bone; where its middle is at every row of the evidence, and how wide it is."""
    fine = np.arange(EVERY * (COUNT - 1) + 1) / EVERY
    middle = np.interp(fine, np.arange(COUNT), middle_mm)[:, None]
    grey = np.where(np.abs(WIDE_ACROSS_MM - middle) < half_mm, 160.0, bone)
    noise = np.random.default_rng(seed).normal(0, 3, grey.shape)
    return (gaussian_filter(grey, 1.2) + noise).astype(np.float32)


def bend(size_mm):
    """A middle that leaves the line by so much 2 mm before the end and comes back to it at the end."""
    return size_mm * np.exp(-0.5 * ((LAST_MM - 2.0) / 0.7) ** 2)


@pytest.mark.parametrize("size_mm", [-0.6, -0.3, 0.3, 0.6])
def test_a_root_that_bends_away_from_the_line_is_measured(size_mm):
    found = middle_beside(strip(bend(size_mm)), STRAIGHT, AROUND)
    near_mm = bend(size_mm)[-ROWS:-ROOT_ENDS]
    np.testing.assert_allclose(found.off_mm[:-ROOT_ENDS], near_mm, atol=0.15)
    asked = np.abs(LAST_MM - 2.0) < 0.5
    assert found.off_along_mm(asked) == pytest.approx(abs(bend(size_mm)[asked].mean()), abs=0.12)


def test_a_line_elsewhere_in_the_corridor_is_measured_from_where_it_is():
    off = middle_beside(strip(bend(0.5) + 0.4), STRAIGHT + 0.4, AROUND)
    np.testing.assert_allclose(off.off_mm[:-ROOT_ENDS], bend(0.5)[-ROWS:-ROOT_ENDS], atol=0.15)


def test_two_roots_on_one_another_that_part_evenly_are_no_bend():
    """The middle of both lies beside a canal by less and less toward its apex."""
    found = middle_beside(strip(np.minimum(0.08 * LAST_MM, 0.6)), STRAIGHT, AROUND)
    assert np.abs(found.off_mm[:-ROOT_ENDS]).max() < 0.12


@pytest.mark.parametrize("seed", range(3))
def test_where_no_root_shows_there_is_no_middle(seed):
    found = middle_beside(strip(bend(0.5), bone=160.0, seed=seed), STRAIGHT, AROUND)
    assert found.off_along_mm(LAST_MM < 3) is None


def test_a_dark_root_between_bright_ones_is_none():
    assert middle_beside(strip(bend(0.5), bone=210.0), STRAIGHT, AROUND).off_along_mm(LAST_MM < 3) is None


def test_a_short_line_has_none():
    assert (
        middle_beside(strip(bend(0.5))[: EVERY * ROWS - 5], STRAIGHT[: ROWS - 1], AROUND[: ROWS - 1]) is None
    )


def test_rows_far_from_the_end_are_not_looked_at():
    assert middle_beside(strip(bend(0.5)), STRAIGHT, AROUND).off_along_mm(LAST_MM > 6) is None
