"""Canals that turn sharply in their last millimetres, on roots drawn here: dentine, bone, a dark canal."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

from radlength.geometry import polyline_length
from radlength.imaging import Radiograph
from radlength.tracing import trace_canal

PIXEL_MM = 0.05
ROWS, COLUMNS = 480, 240
EQUAL = (0.0, 0.25, 0.5, 0.75, 1.0)


def canal(turn_deg, over_mm, length_mm=20.0):
    """Points every 0.02 mm of a canal that is straight up to its last millimetres and turns there, (row, column) mm."""
    along = np.arange(0, length_mm, 0.02)
    turn = np.deg2rad(turn_deg) * np.clip((along - length_mm + over_mm) / over_mm, 0, 1)
    return np.column_stack([1.5 + np.cumsum(np.cos(turn)) * 0.02, 5.0 + np.cumsum(np.sin(turn)) * 0.02])


def root(line_mm, depth=14.0, membrane=0.0, seed=0):
    """A root 3 mm wide round a canal of 0.4 mm, with noise; with a dark line along its edge where asked."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS] * PIXEL_MM
    points = np.column_stack([rows.ravel(), columns.ravel()])
    beyond = line_mm[-1] + np.outer(np.arange(0.02, 0.8, 0.02), (line_mm[-1] - line_mm[-2]) / 0.02)
    away = cKDTree(np.vstack([line_mm, beyond])).query(points)[0].reshape(ROWS, COLUMNS)
    canal_away = cKDTree(line_mm).query(points)[0].reshape(ROWS, COLUMNS)
    grey = np.where(away < 1.5, 160.0, 110.0)
    grey -= depth * np.exp(-0.5 * (canal_away / 0.17) ** 2)
    grey -= membrane * np.exp(-0.5 * ((away - 1.6) / 0.12) ** 2)
    grey += 0.4 * membrane * np.exp(-0.5 * ((away - 1.95) / 0.15) ** 2)
    noise = np.random.default_rng(seed).normal(0, 4, grey.shape)
    return Radiograph.from_array(
        (gaussian_filter(grey, 1.2) + noise).clip(0, 255).astype(np.uint8),
        row_mm=PIXEL_MM,
        column_mm=PIXEL_MM,
    )


def clicked(line_mm, places, seed=0):
    inner = np.random.default_rng(seed).normal(0, 0.1, (len(places), 2))
    inner[[0, -1]] = 0
    return (line_mm[np.rint(np.array(places) * (len(line_mm) - 1)).astype(int)] + inner) / PIXEL_MM


def worst_mm(trace, line_mm):
    return cKDTree(line_mm).query(trace.path_px * PIXEL_MM)[0].max()


@pytest.mark.parametrize("turn_deg", [-70, -50, 50, 70])
@pytest.mark.parametrize("places", [EQUAL, (0.0, 0.5, 1.0)], ids=["5 clicks", "3 clicks"])
def test_a_hook_in_the_last_millimetres_is_followed(turn_deg, places):
    line = canal(turn_deg, over_mm=2.5)
    trace = trace_canal(root(line), clicked(line, places))
    assert worst_mm(trace, line) < 0.3
    assert trace.curve.length * PIXEL_MM == pytest.approx(polyline_length(line), abs=0.15)


@pytest.mark.parametrize("seed", range(4))
def test_the_edge_of_a_root_is_no_hook(seed):
    """A dark line as that of the membrane round a root, plainer than the canal, ends beside the apex too."""
    line = canal(8, over_mm=10)
    trace = trace_canal(root(line, depth=7, membrane=45, seed=seed), clicked(line, (0.0, 0.5, 1.0), seed))
    assert worst_mm(trace, line) < 0.4


@pytest.mark.parametrize("seed", range(3))
def test_noise_makes_no_hook_of_a_straight_canal(seed):
    line = canal(0, over_mm=2.5)
    trace = trace_canal(root(line, seed=seed), clicked(line, EQUAL, seed))
    assert worst_mm(trace, line) < 0.2
    assert trace.curve.degree == 4
