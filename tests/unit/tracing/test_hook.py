"""Canals that turn sharply in their last millimetres, on roots drawn here: dentine, bone, a dark canal."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

from radlength.geometry import fit_curve, polyline_length
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


def root(line_mm, depth=14.0, half_mm=None, membrane=0.0, seed=0):
    """A root of dentine round a dark canal 0.4 mm wide, with noise, in darker bone.

    It is 3 mm wide up to its end, or narrows to its end from twice `half_mm`; `membrane` is how dark a line along its
    edge is, with a brighter one beside it.
    """
    points = np.indices((ROWS, COLUMNS)).reshape(2, -1).T * PIXEL_MM
    beyond = line_mm[-1] + np.outer(np.arange(0.02, 0.5, 0.02), (line_mm[-1] - line_mm[-2]) / 0.02)
    whole = np.vstack([line_mm, beyond])
    away, nearest = cKDTree(whole).query(points)
    to_end_mm = (len(whole) - 1 - nearest) * 0.02
    half = 1.5 if half_mm is None else half_mm * np.sqrt(np.clip(to_end_mm / 4, 0, 1))
    edge = away - half
    grey = np.where(edge < 0, 160.0, 110.0)
    grey -= depth * np.exp(-0.5 * (cKDTree(line_mm).query(points)[0] / 0.17) ** 2)
    grey -= membrane * np.exp(-0.5 * ((edge - 0.1) / 0.12) ** 2)
    grey += 0.6 * membrane * np.exp(-0.5 * ((edge - 0.45) / 0.15) ** 2)
    noise = np.random.default_rng(seed).normal(0, 4, (ROWS, COLUMNS))
    seen = gaussian_filter(grey.reshape(ROWS, COLUMNS), 1.2) + noise
    return Radiograph.from_array(seen.clip(0, 255).astype(np.uint8), row_mm=PIXEL_MM, column_mm=PIXEL_MM)


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


@pytest.mark.parametrize("turn_deg", [50, 70, 100])
def test_the_points_that_a_record_keeps_carry_the_curve_of_a_hook(turn_deg):
    line = canal(turn_deg, over_mm=4.5)
    trace = trace_canal(root(line), clicked(line, EQUAL))
    kept = fit_curve(trace.points_px())
    assert trace.assist().last == len(trace.points_px()) - 2
    assert kept.degree == trace.curve.degree
    assert kept.length == pytest.approx(trace.curve.length, rel=3e-3)


@pytest.mark.parametrize(
    ("depth", "membrane", "seed"), [(3, 20, 0), (3, 20, 1), (3, 20, 3), (5, 35, 1), (5, 35, 3)]
)
def test_the_edge_of_a_root_is_no_hook(depth, membrane, seed):
    """The membrane round a narrowing root is a dark line as plain as the canal, and it too ends beside the apex."""
    line = canal(8, over_mm=10)
    image = root(line, depth, half_mm=1.2, membrane=membrane, seed=seed)
    assert worst_mm(trace_canal(image, clicked(line, (0.0, 0.5, 1.0), seed)), line) < 0.2


@pytest.mark.parametrize("seed", range(3))
def test_noise_makes_no_hook_of_a_straight_canal(seed):
    line = canal(0, over_mm=2.5)
    trace = trace_canal(root(line, seed=seed), clicked(line, EQUAL, seed))
    assert worst_mm(trace, line) < 0.2
    assert trace.curve.degree == 4
