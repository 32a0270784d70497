"""Three exercises on images that show nothing, quickly made: a trace, an apex and a choice."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from helpers.exercise_markers import speckled, truth_of

from radlength.exercise import Item, build_set
from radlength.exercise.levels import shape_for
from radlength.exercise.publish import publish

PITCH_MM = 0.06
STEPS = (("trace", "curved root"), ("apex", "straight"), ("confirm", "instrument short"))


@cache
def made():
    items = [Item(aim, level, 9100 + n) for n, (aim, level) in enumerate(STEPS)]
    shape = {"pitch_mm": PITCH_MM, "shape_px": shape_for(PITCH_MM)}
    told = {"title": "Three exercises <b>", "kind": "self-study", "secret": None, "repeats": 0}
    return build_set(items, render=speckled, **shape, **told)


@cache
def truth(number):
    return truth_of(made()).answers[number]


def clicks_on(path_px, count):
    path = np.array(path_px)
    return path[np.linspace(0, len(path) - 1, count).round().astype(int)]


def published(folder: Path) -> Path:
    """Publish the set below a folder, its answers beside it, and return where it is."""
    publish(made(), folder / "course", folder / "course.answers.json")
    return folder / "course"
