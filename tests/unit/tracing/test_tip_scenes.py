"""Tips on simulated radiographs with two instruments, where another's tip was once taken and nothing was asked."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.object_scenes import radiograph_of, scene_of, tool_of, truth_of

from radlength.tracing import find_instrument

SCENES = {
    "two shadows on one line": (3193, "ML", (0.13, -0.06)),
    "a click between two tips": (2329, "MB", (0.54, -0.35)),
}
"""Seed, canal, and how far off the tip it is clicked, (row, column) millimetres."""


@pytest.mark.parametrize(("seed", "canal", "off_mm"), SCENES.values(), ids=SCENES)
def test_the_tip_of_one_of_two_instruments_is_right_or_questioned(seed, canal, off_mm):
    path, pitch = truth_of(seed).instruments[canal], scene_of(seed).view.pitch_mm
    found = find_instrument(radiograph_of(seed), path[0], path[-1] + np.array(off_mm) / pitch)
    assert np.hypot(*(found.tip_px - path[-1])) * pitch < 0.3 or not found.trusted


MERGED = {"one on the other": (2551, "MB"), "thick": (2875, "ML"), "crossing": (2863, "MB")}
"""Shadows that look like one: the end between both was taken, 0.11 to 0.17 mm off, and nothing was asked."""


@pytest.mark.parametrize(("seed", "canal"), MERGED.values(), ids=MERGED)
def test_both_tips_are_seen_where_two_shadows_look_like_one(seed, canal):
    path, pitch, tool = truth_of(seed).instruments[canal], scene_of(seed).view.pitch_mm, tool_of(seed)
    known = {"size": tool.size, "taper": tool.taper, "tip_form": tool.form}
    found = find_instrument(radiograph_of(seed), path[0], path[-1], **known)
    assert np.hypot(*(found.tip_px - path[-1])) * pitch < 0.07
