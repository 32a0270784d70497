"""Ends of rods on simulated radiographs where they were once found elsewhere and nothing was asked."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.object_scenes import radiograph_of, scene_of, truth_of

from radlength.tracing import find_wire_ends

SCENES = {"bone behind the end looks like a line": (2977, 0.45), "over the rim of a crown": (3014, 0.17)}
"""Seed, and where along the rod the click lies."""


@pytest.mark.parametrize(("seed", "share"), SCENES.values(), ids=SCENES)
def test_the_end_of_a_rod_is_right_or_questioned(seed, share):
    ends = truth_of(seed).rod_ends_px
    ends = ends[np.lexsort((ends[:, 1], ends[:, 0]))]
    found = find_wire_ends(radiograph_of(seed), ends[0] + share * (ends[1] - ends[0]))
    off_mm = np.hypot(*(found.ends_px - ends).T).max() * scene_of(seed).view.pitch_mm
    assert off_mm < 0.1 or not found.trusted
