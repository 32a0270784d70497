"""Whether the apex of a canal can be found by eye, or lies within the outline of a root that ends deeper."""

from __future__ import annotations

import numpy as np

from radlength.phantom import Camera, Scene
from radlength.phantom.sizes import LOWER_MOLAR

WITHIN_MM = LOWER_MOLAR.tip[0]
"""A canal that ends no farther aside than this has its root's tip over the other one: half-width of that tip."""
DEEPER_MM = 0.3
"""The usual SD of an apex mark. What lies deeper misleads a good eye by more than its own scatter."""
_LAST_MM = 1.5


def apex_hidden(scene: Scene, name: str) -> bool:
    """Tell whether the root of another canal ends under the apex of a canal on the image.

    Parameters
    ----------
    scene
        What stands before the film, and how it was taken.
    name
        The canal.

    Examples
    --------
    >>> from radlength.phantom import random_scene
    >>> apex_hidden(random_scene(7), "single")
    False
    """
    camera, canal = Camera.of(scene.view), scene.canal(name)
    end_mm = canal.at([canal.length_mm - _LAST_MM, canal.length_mm])
    before, apex = camera.project(end_mm) * scene.view.pitch_mm
    down = (apex - before) / np.hypot(*(apex - before))
    others = [other.at([other.length_mm])[0] for other in scene.canals if other.name != name]
    if not others:
        return False
    ends = camera.project(np.array(others)) * scene.view.pitch_mm
    away = (ends - apex) / float(camera.magnification(end_mm[1]))
    deeper_mm, aside_mm = away @ down, away @ np.array([-down[1], down[0]])
    return bool(np.any((deeper_mm > DEEPER_MM) & (np.abs(aside_mm) < WITHIN_MM)))
