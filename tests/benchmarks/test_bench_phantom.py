"""Speed of the phantom: a picture of 1.5 megapixels, and scenes with marks by the thousand."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.render import render


@pytest.fixture(autouse=True)
def one_core():
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    yield
    cv2.setNumThreads(before)


@pytest.mark.parametrize("kind", ["single", "lower_molar", "upper_molar"])
def test_render(benchmark, kind):
    """At most 3 s on one core."""
    scene = random_scene(5, kind=kind, shown=("wire", "ball"))
    benchmark.pedantic(render, args=(scene,), rounds=3)
    assert benchmark.stats["median"] < 3.0


def test_scenes_with_marks(benchmark):
    """At least 500 scenes a second, drawn, projected and marked."""
    rng = np.random.default_rng(0)

    def hundred() -> None:
        for seed in range(100):
            simulate_marks(random_scene(seed), None, rng, click_mm=0.05, end_mm=0.05, reference_mm=0.03)

    benchmark.pedantic(hundred, rounds=5, warmup_rounds=1)
    assert benchmark.stats["median"] < 0.2
