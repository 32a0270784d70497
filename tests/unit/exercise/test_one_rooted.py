"""Exercises on one root show incisors, a canine and premolars, each of its own length and among its neighbours."""

from __future__ import annotations

from collections import Counter, defaultdict

import numpy as np
import pytest
from helpers.exercise_markers import course
from scipy.stats import chisquare

from radlength.exercise import Item
from radlength.exercise.build import scene_for
from radlength.exercise.course import SIDE_STEPS, STEPS
from radlength.exercise.levels import target_of
from radlength.exercise.one_rooted import TEETH, longer_mm, tooth_for
from radlength.phantom import Camera
from radlength.phantom.anatomy import anatomy_of
from radlength.phantom.render import render
from radlength.phantom.truth import tooth_number
from radlength.trade import tooth_length

SHAPE = {"pitch_mm": 0.3, "shape_px": (124, 94)}
SEEDS = range(61_000, 61_150)


def scenes(level, aim="trace"):
    return [scene_for(Item(aim, level, seed), **SHAPE)[1] for seed in SEEDS]


def test_every_tooth_comes_as_often_as_the_others():
    drawn = Counter(tooth_for(seed) for seed in range(2**100, 2**100 + 2000))
    assert set(drawn) == set(TEETH)
    assert chisquare(list(drawn.values())).pvalue > 1e-3


def test_lengths_are_as_published_for_each_tooth():
    """Range of Black (1902, from memory), and on average as much longer than another as carving averages say."""
    lengths = defaultdict(list)
    for scene in scenes("curved root"):
        lengths[tooth_number(scene)].append(scene.canals[0].length_mm)
    assert set(lengths) == set(TEETH)
    for tooth, found in lengths.items():
        range_mm = tooth_length(tooth)
        assert range_mm.shortest_mm < min(found) < max(found) < range_mm.longest_mm
        assert np.mean(found) - np.mean(lengths["45"]) == pytest.approx(longer_mm(tooth), abs=0.7)


@pytest.mark.parametrize(("aim", "level"), sorted({(a, b) for a, b in (*STEPS, *SIDE_STEPS)}))
def test_nothing_that_is_asked_for_leaves_the_image(aim, level):
    for seed in SEEDS:
        found, scene = scene_for(Item(aim, level, seed), **SHAPE)
        camera, canal, tool = (
            Camera.of(scene.view),
            scene.canal(target_of(found, scene)),
            scene.instruments[0],
        )
        ends = np.vstack([
            camera.project(canal.at([0.0, canal.length_mm])),
            camera.project(scene.canal(tool.canal).at([0.0, tool.stop_to_tip_mm])),
        ])  # fmt: skip
        assert (ends * 0.3 > 2.0).all()
        assert ((np.array([123, 93]) - ends) * 0.3 > 2.0).all()


def test_upper_roots_point_up_and_the_distal_neighbour_stands_distally():
    for scene in scenes("straight")[:40]:
        row, column = Camera.of(scene.view).project(scene.canals[0].at([0.0, scene.canals[0].length_mm])).T
        tooth = tooth_number(scene)
        assert bool(row[1] < row[0]) is (tooth == "21")
        distal = Camera.of(scene.view).project(scene.canals[0].at([0.0]) - np.array([[7.0, 0, 0]]))[0, 1]
        assert bool(distal < column[0]) is (tooth[0] == "4")  # right teeth have distal on the left


@pytest.mark.parametrize("tooth", TEETH)
def test_the_tooth_that_is_drawn_has_the_outline_of_its_kind(tooth):
    """Incisors are as wide at their edge as anywhere; canines and premolars come to a point."""
    scene = next(scene for scene in scenes("straight") if tooth_number(scene) == tooth)
    y = np.linspace(-20, 20, 401)
    own = anatomy_of(scene, y, np.random.default_rng(1)).teeth[0]
    edges = [cusp for cusp in own.sizes.cusps if cusp[2] <= 0.3]
    width = max(x for x, _, _ in edges) - min(x for x, _, _ in edges)
    assert (width > 0.6 * own.sizes.widest[0]) is (tooth in ("41", "21"))
    pixels = render(scene).pixels
    assert pixels.std() > 10


def test_the_course_shows_every_one_of_them():
    numbers = {task.tooth[1] for task in course().exercises.tasks if task.canal == "single"}
    assert numbers == {"1", "3", "4", "5"}
