"""Simulated pairs of images, as marks, for tests of two views. Seeds of development only."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.projection import second_exposure
from radlength.scale.two_views import KnownInstrument, TwoViewMarks, View
from radlength.uncertainty import Marking

CAREFUL = (0.05, 0.05, 0.03)
PLANTED = (0.01, 0.01, 0.01)


def marking(sds):
    """The stated spread that goes with (click, end, reference) standard deviations."""
    return Marking(apex_mm=sds[1], stop_mm=sds[1], tip_mm=sds[1], path_mm=sds[0])


def pair(seed, *, sds=CAREFUL, shift_deg=20.0, marker=True, declared=None, side=1, **scene_numbers):
    """A scene, and its marks on a straight and a shifted image."""
    rng = np.random.default_rng(seed)
    scene = random_scene(seed, **scene_numbers)
    spread = dict(zip(("click_mm", "end_mm", "reference_mm"), sds, strict=True))
    views = [
        view_of(simulate_marks(scene, view, rng, **spread), scene, marker=marker)
        for view in (scene.view, second_exposure(scene.view, side * shift_deg, rng))
    ]
    right = (side > 0) != scene.view.roots_up
    marks = TwoViewMarks(
        *views,
        shift="right" if right else "left",
        angle_deg=declared,
        instruments=tuple(KnownInstrument(one.canal, one.stop_to_tip_mm, 0.0) for one in scene.instruments),
        marker_mm=tuple(map(tuple, scene.marker.shape_mm)) if marker else (),
    )
    return scene, marks


def view_of(marks, scene, *, marker=True):
    """The marks of one image as the solver takes them."""
    return View(
        marks.canals,
        marks.instruments,
        marks.marker_px if marker else (),
        pitch_mm=(scene.view.pitch_mm, scene.view.pitch_mm),
        shape_px=scene.view.shape_px,
    )


def moved(path, at, by_px):
    """The path with one point moved by (row, column) pixels."""
    points = np.array(path)
    points[at] += by_px
    return points


def with_shifted(marks, **changes):
    """The marks with something changed on the shifted image."""
    return replace(marks, shifted=replace(marks.shifted, **changes))
