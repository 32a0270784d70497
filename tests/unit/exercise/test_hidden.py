"""Where the root of another canal ends under the one that is asked about, no eye finds its apex: it is not asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from radlength.exercise import Item
from radlength.exercise.build import scene_for
from radlength.exercise.course import course_items
from radlength.exercise.hidden import apex_hidden
from radlength.exercise.levels import LEVELS, scene_of, target_of
from radlength.phantom import random_scene
from radlength.phantom.truth import truth_of

SHAPE = {"pitch_mm": 0.3, "shape_px": (124, 94)}
MESIAL = ("overlapping canals", "mesial tip at length", "mesial canal for distal")


def beneath_mm(scene, name):
    """Return how much lower another foramen lies on the image, of those within 0.4 mm aside; roots point down."""
    ends = {canal["name"]: np.array(canal["path_px"][-1]) for canal in truth_of(scene)["canals"]}
    away = [(end - ends[name]) * scene.view.pitch_mm for other, end in ends.items() if other != name]
    return max((down for down, aside in away if abs(aside) < 0.4), default=-np.inf)


@pytest.mark.parametrize(
    ("aside_mm", "deeper_mm", "hidden"),
    [
        (0, 0.6, True),
        (0.6, 0.6, True),
        (-0.6, 0.6, True),
        (0, 0.2, False),
        (0, -0.6, False),
        (1.2, 0.6, False),
    ],
)
def test_what_ends_deeper_and_near_hides_an_apex_and_nothing_else(aside_mm, deeper_mm, hidden):
    """A straight canal and its like, moved across the image and down, on a film that stands parallel."""
    straight = {
        "bend_deg": 0.0,
        "theta_deg": 0.0,
        "phi_error_deg": 0.0,
        "horizontal_deg": 0.0,
        "yaw_deg": 0.0,
    }
    scene = random_scene(3, **straight, roll_deg=0.0, inclination_deg=0.0, lean_deg=0.0, s_bend_deg=0.0)
    one = scene.canals[0]
    other = replace(one, name="other", points_mm=one.points_mm + np.array([aside_mm, deeper_mm, 0.0]))
    assert apex_hidden(replace(scene, canals=(one, other)), one.name) is hidden
    assert not apex_hidden(replace(scene, canals=(one,)), one.name)


@pytest.mark.parametrize("name", MESIAL)
def test_no_hidden_apex_is_asked_for(name):
    level, others = LEVELS[name], 0
    for seed in range(52000, 52100):
        drawn = scene_of(level, seed, **SHAPE)
        _, kept = scene_for(Item("confirm", name, seed), **SHAPE)
        assert beneath_mm(kept, target_of(level, kept)) < 0.4
        assert apex_hidden(drawn, target_of(level, drawn)) is (kept.seed != seed)
        others += kept.seed != seed
    assert 1 <= others <= 10


def test_the_built_in_course_and_single_roots_are_as_they_were():
    for item in (*course_items(), *(Item("apex", "curved root", seed) for seed in range(52300, 52320))):
        if item.aim != "view":
            assert scene_for(item, **SHAPE)[1].seed == item.seed
