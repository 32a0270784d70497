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
HUMAN = (0.1, 0.1, 0.05, 0.3)
"""Standard deviations in millimetres of clicks, ends, marks beside, and of the apex where it is not as the ends."""
FILM_MM = 1.0
"""How far from the first place a film is put the second time, standard deviation: common practice, no source."""


def marking(sds):
    """The stated spread that goes with (click, end, reference) standard deviations."""
    return Marking(apex_mm=sds[-1] if len(sds) > 3 else sds[1], stop_mm=sds[1], tip_mm=sds[1], path_mm=sds[0])


def pair(
    seed, *, sds=CAREFUL, shift_deg=20.0, marker=True, declared=None, side=1, exact=False, **scene_numbers
):
    """A scene, and its marks on a straight and a shifted image; with `exact` the tube swings by `shift_deg`."""
    rng = np.random.default_rng(seed)
    scene = random_scene(seed, **scene_numbers)
    spread = dict(zip(("click_mm", "end_mm", "reference_mm", "apex_mm"), sds, strict=False))
    exposures = [scene.view, second_exposure(scene.view, side * shift_deg, rng)]
    if exact:
        exposures[1] = replace(exposures[1], horizontal_deg=scene.view.horizontal_deg + side * shift_deg)
    views = [view_of(simulate_marks(scene, view, rng, **spread), scene, marker=marker) for view in exposures]
    views[1] = _elsewhere(views[1], rng.normal(0, FILM_MM, 2) / scene.view.pitch_mm)
    right = (side > 0) != scene.view.roots_up
    marks = TwoViewMarks(
        *views,
        shift="right" if right else "left",
        angle_deg=declared,
        instruments=tuple(KnownInstrument(one.canal, one.stop_to_tip_mm, 0.0) for one in scene.instruments),
        marker_mm=tuple(map(tuple, scene.marker.shape_mm)) if marker else (),
    )
    return scene, marks


def _elsewhere(view, by_px):
    """The marks of an image whose film was put so many pixels away in its own plane."""

    def put(paths):
        return {name: np.array(path) + by_px for name, path in paths.items()}

    beside = tuple(map(tuple, np.array(view.marker_px).reshape(-1, 2) + by_px))
    return replace(view, canals=put(view.canals), instruments=put(view.instruments), marker_px=beside)


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
