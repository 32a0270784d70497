"""Objects from clicks in the time a person waits for: an instrument, a ball, beads, wire ends, on four megapixels."""

import numpy as np
import pytest
from helpers.object_scenes import radiograph_of, truth_of

from radlength.imaging import Radiograph
from radlength.tracing import find_ball, find_beads, find_instrument, find_wire_ends

SEED = 3
"""A development scene: an instrument, a wire with beads and a ball."""


@pytest.fixture(scope="module")
def four_megapixels():
    """The scene in the middle of an image of 2000 x 2000 pixels, what it holds, and how far that is moved."""
    image, truth = radiograph_of(SEED), truth_of(SEED)
    rows, columns = image.shape
    pixels = np.zeros((2000, 2000), image.stored.dtype)
    low = np.array([300, 400])
    pixels[low[0] : low[0] + rows, low[1] : low[1] + columns] = image.stored
    pitch = image.scale.row_mm
    return Radiograph.from_array(pixels, row_mm=pitch, column_mm=pitch), truth, low, pitch


def test_instrument_from_two_clicks(benchmark, four_megapixels):
    """Three fits of the end and the whole axis; the work grows with the instrument, not with the image."""
    image, truth, low, pitch = four_megapixels
    path = next(iter(truth.instruments.values())) + low
    clicks = path[[0, -1]] + np.array([[4.0, -3.0], [-5.0, 4.0]])
    found = benchmark(lambda: find_instrument(image, *clicks))
    assert np.hypot(*(found.tip_px - path[-1])) * pitch < 0.3


def test_ball_from_one_click(benchmark, four_megapixels):
    image, truth, low, pitch = four_megapixels
    centre = np.array(truth.ball.centre)[::-1] + low
    found = benchmark(lambda: find_ball(image, centre + 10))
    assert np.hypot(*(found.centre_px - centre)) * pitch < 0.02


def test_beads_from_one_click(benchmark, four_megapixels):
    image, truth, low, _ = four_megapixels
    beads = truth.beads_px + low
    found = benchmark(lambda: find_beads(image, beads.mean(axis=0)))
    assert len(found.beads_px) == len(beads)


def test_wire_ends_from_one_click(benchmark, four_megapixels):
    image, truth, low, pitch = four_megapixels
    ends = truth.wire_ends_px + low
    found = benchmark(lambda: find_wire_ends(image, ends.mean(axis=0)))
    assert found.length_mm == pytest.approx(np.hypot(*(ends[1] - ends[0])) * pitch, abs=0.2)
