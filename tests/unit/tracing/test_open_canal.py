"""Canals of immature roots, wider than a filter for lines reaches: drawn as chords of round roots and round canals."""

from __future__ import annotations

import numpy as np
import pytest

from radlength.imaging import Radiograph
from radlength.tracing import trace_canal
from radlength.tracing.corridor import corridor_through, straighten
from radlength.tracing.evidence import weigh
from radlength.tracing.search import likely_courses
from radlength.tracing.signs import USUAL_OUTER, signs_of

PIXEL_MM = 0.04
ROWS, COLUMNS = 600, 500
MIDDLE = 250


def course(rows):
    """Column of a gently bent canal."""
    return MIDDLE + 25 * (np.asarray(rows) / ROWS) ** 2


def chord(across_mm, radius_mm):
    """Length of a ray through a round bar."""
    return 2 * np.sqrt(np.clip(radius_mm**2 - across_mm**2, 0, None))


def grey(*, root_mm=2.0, canal_mm=1.1, noise=2.0, seed=0):
    """Grey of a root whose canal is so wide (radii), of 60 for bone, with noise that is smooth over some pixels."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    across = (columns - course(rows)) * PIXEL_MM
    return 60 + 30 * (chord(across, root_mm) - chord(across, canal_mm)) + texture(noise, seed)


def texture(noise, seed=0):
    from scipy.ndimage import gaussian_filter

    rough = gaussian_filter(np.random.default_rng(seed).normal(0, 1, (ROWS, COLUMNS)), 5)
    return noise * rough / rough.std()


def image_of(values):
    stored = np.clip(np.rint(values), 0, 255).astype(np.uint8)
    return Radiograph.from_array(stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)


def clicks(rows=(30, 300, 560), off_mm=(0, 0.1, 0)):
    return np.column_stack([rows, course(rows) + np.array(off_mm) / PIXEL_MM])


def wide(image, points, polarity="auto"):
    corridor = corridor_through(np.asarray(points) * PIXEL_MM)
    return weigh(straighten(image.stored, corridor, np.full(2, PIXEL_MM)), corridor, polarity).wide


def worst_mm(trace):
    return float(np.abs(trace.path_px[:, 1] - course(trace.path_px[:, 0])).max() * PIXEL_MM)


WIDE = {
    "2.2 mm": {},
    "3.4 mm, walls of 0.6 mm": {"root_mm": 2.3, "canal_mm": 1.7},
    "1.8 mm": {"canal_mm": 0.9},
    "noisy": {"noise": 6.0},
}


@pytest.mark.parametrize("given", WIDE.values(), ids=WIDE)
@pytest.mark.parametrize("polarity", ["auto", "dark"])
def test_a_wide_canal_is_followed_between_its_walls_and_not_questioned(given, polarity):
    trace = trace_canal(image_of(grey(**given)), clicks(), polarity=polarity)
    assert worst_mm(trace) < 0.15
    assert trace.trusted, trace.findings
    assert min(trace.confidence) > 0.6


@pytest.mark.parametrize("canal_mm", [0.0, 0.25, 0.5, 0.6])
def test_other_canals_are_not_wide(canal_mm):
    assert wide(image_of(grey(canal_mm=canal_mm)), clicks()) is None


def test_walls_that_are_lost_in_what_goes_on_around_are_none():
    assert wide(image_of(grey(noise=40)), clicks()) is None


def test_a_bright_line_alone_is_asked_for_without_it():
    assert wide(image_of(grey()), clicks()) is not None
    assert wide(image_of(grey()), clicks(), "bright") is None


@pytest.mark.parametrize("gap_mm", [1.6, 2.2, 3.0])
def test_bone_between_two_roots_is_no_wide_canal(gap_mm):
    """It is dark between two bright edges too, but beyond them the roots go on."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    across = (columns - course(rows)) * PIXEL_MM
    away = gap_mm / 2 + 2.2
    roots = sum(chord(across - side * away, 2.2) - chord(across - side * away, 0.25) for side in (-1, 1))
    image = image_of(60 + 30 * roots + texture(2.0))
    assert wide(image, clicks()) is None
    assert not trace_canal(image, clicks()).trusted


@pytest.mark.parametrize(("root_mm", "gap_mm"), [(1.0, 1.6), (1.0, 1.8), (1.1, 1.6), (1.1, 1.8)])
def test_bone_between_two_slender_roots_is_no_wide_canal(root_mm, gap_mm):
    """Beyond their middles the roots soon end, but it is darker between them than there."""
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    across = (columns - course(rows)) * PIXEL_MM
    roots = sum(chord(across - side * (gap_mm / 2 + root_mm), root_mm) for side in (-1, 1))
    image = image_of(60 + 30 * roots + texture(2.0))
    assert wide(image, clicks()) is None
    assert not trace_canal(image, clicks()).trusted


@pytest.mark.parametrize("wall_mm", [-1.1, 1.1])
def test_whether_it_is_brighter_beyond_is_asked_where_the_trace_runs(wall_mm):
    """A wide canal in the corridor says nothing for a line on one of its walls."""
    corridor = corridor_through(clicks() * PIXEL_MM)
    strip = straighten(image_of(grey()).stored, corridor, np.full(2, PIXEL_MM))
    evidence = weigh(strip, corridor)
    courses = likely_courses(evidence.weight, corridor)

    def outer(across_mm):
        line = np.full(len(evidence.weight), across_mm)
        return signs_of(strip, corridor, evidence, courses, line, (0, 255)).outer

    assert outer(0.0) < USUAL_OUTER
    assert outer(wall_mm) > outer(0.0) + 1


def test_two_instruments_beside_the_clicks_are_no_walls():
    values = grey(root_mm=2.6, canal_mm=0.0, noise=2.0)
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    across = (columns - course(rows)) * PIXEL_MM
    for place in (-1.0, 1.0):
        values = values + 90 * np.exp(-0.5 * ((across - place) / 0.12) ** 2)
    assert wide(image_of(values * 0.6), clicks()) is None


def test_a_wrong_click_in_a_wide_canal_is_questioned_or_left_aside():
    """One lies 0.8 mm off, near the wall of a canal 2.2 mm wide."""
    trace = trace_canal(image_of(grey()), clicks((30, 170, 300, 430, 560), (0, 0, 0.8, 0, 0)))
    assert not trace.trusted or worst_mm(trace) < 0.3
    assert worst_mm(trace) < 0.5


def test_a_short_path_is_not_told_to_be_wide():
    assert wide(image_of(grey()), clicks((300, 350, 390))) is None
