"""Speed of the phantom: a picture of 1.5 megapixels, and scenes with marks by the thousand."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from radlength.phantom import Marks, random_scene, simulate_marks
from radlength.phantom.render import render


@pytest.fixture(autouse=True)
def one_core():
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    yield
    cv2.setNumThreads(before)


@pytest.mark.parametrize("kind", ["single", "lower_molar", "upper_molar"])
def test_render(benchmark, kind):
    """Target: 3 s on one core."""
    benchmark.group = "render (target 3 s)"
    scene = random_scene(5, kind=kind, shown=("wire", "ball"))
    assert benchmark.pedantic(render, args=(scene,), rounds=2).exposure.any()


def test_scenes_with_marks(benchmark):
    """Target: 500 scenes a second, drawn, projected and marked."""
    benchmark.group = "a hundred scenes with marks (target 0.2 s)"
    rng = np.random.default_rng(0)

    def hundred() -> list[Marks]:
        return [
            simulate_marks(random_scene(seed), None, rng, click_mm=0.05, end_mm=0.05, reference_mm=0.03)
            for seed in range(100)
        ]

    assert len(benchmark.pedantic(hundred, rounds=5, warmup_rounds=1)) == 100
