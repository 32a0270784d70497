"""What a learner reads in an assessment leaves every choice open: tooth, canal and set length tell none."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest
from scipy.stats import ks_2samp

from radlength.exercise import Item
from radlength.exercise.answers import simulated_truth
from radlength.exercise.build import scene_for
from radlength.exercise.course import SIDE_STEPS, STEPS
from radlength.exercise.helpful import helpful_view
from radlength.exercise.levels import SET_MM, target_of
from radlength.exercise.one_rooted import longer_mm
from radlength.phantom.detector import Detector
from radlength.phantom.truth import tooth_number

SHAPE = {"pitch_mm": 0.3, "shape_px": (124, 94)}


def read(aim, level, seed):
    """Return tooth, canal, set length and answer of an exercise."""
    item = Item(aim, level, seed)
    found, scene = scene_for(item, **SHAPE)
    truth = simulated_truth("01", aim, found, scene, seed=seed, rule="tip within 1 mm", limit_mm=0.25)
    return tooth_number(scene), target_of(found, scene), truth


def pool(aim):
    return [level for a, level in (*STEPS, *SIDE_STEPS) if a == aim]


@pytest.mark.parametrize(("aim", "least"), [("confirm", 3), ("view", 3)])
def test_no_tooth_and_no_canal_tells_a_choice(aim, least):
    choices = defaultdict(set)
    for level in pool(aim):
        for seed in range(7000, 7012 if aim == "view" else 7030):
            tooth, canal, truth = read(aim, level, seed)
            choices[tooth, canal].add(truth.choice)
    assert len(choices) > 1
    assert {place: len(found) for place, found in choices.items() if len(found) < least} == {}


def test_a_poor_image_of_a_molar_lacks_nothing_but_exposure():
    """Else two answers would be right: canals that cover each other call for a shift."""
    for seed in range(7300, 7340):
        _, scene = scene_for(Item("view", "molar, poor exposure", seed), **SHAPE)
        assert helpful_view(scene, Detector()).choice == "enough"


def test_no_set_length_tells_a_choice():
    """Every set length is a half millimetre from the same list, whatever the gap."""
    lengths = defaultdict(list)
    for level in pool("confirm"):
        for seed in range(7100, 7140):
            tooth, _, truth = read("confirm", level, seed)
            lengths[level].append(truth.reference_mm - longer_mm(tooth))
    together = np.concatenate(list(lengths.values()))
    assert np.allclose(together * 2, np.round(together * 2))
    assert (together.min(), together.max()) == SET_MM
    for level, found in lengths.items():
        assert ks_2samp(found, together).pvalue > 1e-4, level


@pytest.mark.parametrize(
    ("level", "choice", "why"),
    [
        ("wrong canal", "repeat", "The instrument lies in canal MB, not in D."),
        ("mesial canal for distal", "repeat", "The instrument lies in canal D, not in MB."),
        ("mesial tip at length", "accept", "short of"),
        ("distal tip at length", "accept", "short of"),
        ("distal tip very near", "adjust", "short of"),
        ("distal instrument short", "repeat", "short of"),
    ],
)
def test_a_molar_is_read_by_its_gap_or_its_canal(level, choice, why):
    for seed in range(7200, 7205):
        truth = read("confirm", level, seed)[2]
        assert truth.choice == choice
        assert why in truth.why
        assert (truth.gap_mm is None) == ("lies in" in why)
        if truth.gap_mm is not None:
            assert truth.length_mm - truth.reference_mm == pytest.approx(truth.gap_mm)
