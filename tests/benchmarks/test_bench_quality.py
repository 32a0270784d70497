"""Speed of image quality on 1.5 Mpx, beside named peers on the same pixels in the same run.

Peers do a part of the work only: skimage.measure.blur_effect the sharpness of the whole, a two-dimensional FFT the
spectrum in which resampling could be looked for.
"""

import numpy as np
import pytest
from helpers.quality_scenes import with_record
from skimage.measure import blur_effect

from radlength.imaging.quality import pixel_measures
from radlength.imaging.quality.noise import noise_sd
from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.render import render
from radlength.record.quality import image_quality


@pytest.fixture(scope="module")
def case():
    scene = random_scene(1, kind="single", instruments=1, shape_px=(1440, 1040))
    tool = scene.instruments[0]
    marks = simulate_marks(
        scene, None, np.random.default_rng(3), click_mm=0.05, end_mm=0.05, reference_mm=0.03
    )
    parts = (marks.canals[tool.canal], marks.instruments[tool.canal], marks.wire_px)
    pitch = scene.view.pitch_mm
    return with_record(render(scene).pixels, *parts, tool.stop_to_tip_mm, row_mm=pitch, column_mm=pitch)


def test_whole_quality_with_marks(benchmark, case):
    benchmark.group = "quality of 1.5 Mpx"
    assert len(benchmark(lambda: image_quality(case.radiograph, case.record)).measures) == 23


def test_pixels_only(benchmark, case):
    benchmark.group = "quality of 1.5 Mpx"
    assert len(benchmark(lambda: pixel_measures(case.radiograph))) == 10


def test_peer_fft(benchmark, case):
    benchmark.group = "quality of 1.5 Mpx"
    grey = case.pixels.astype(np.float64)
    assert benchmark(lambda: np.fft.rfft2(grey)).shape == (1440, 521)


def test_peer_blur_effect(benchmark, case):
    benchmark.group = "quality of 1.5 Mpx"
    grey = case.pixels.astype(np.float64)
    assert 0 < benchmark(lambda: blur_effect(grey)) < 1


def test_noise(benchmark, case):
    benchmark.group = "noise of 1.5 Mpx"
    assert benchmark(lambda: noise_sd(case.pixels)) > 0


def test_whole_quality(benchmark, case):
    """Target: 300 ms."""
    benchmark.group = "whole quality of 1.5 Mpx (target 300 ms)"
    assert benchmark.pedantic(
        image_quality, (case.radiograph, case.record), rounds=5, warmup_rounds=1
    ).measures
