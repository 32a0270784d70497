"""Which one-rooted tooth an exercise shows: incisors, a canine and premolars by lot, each of a length of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from radlength.phantom import Scene
from radlength.phantom.forms import FORMS
from radlength.trade import tooth_length

USUAL = "45"
"""What a scene of the kind shows by itself."""
TEETH = (USUAL, *FORMS)
ROOMY = tuple(tooth for tooth in TEETH if tooth != "41")
"""Those whose neighbours stand far enough away for a root that bends twice."""
STEP_MM = 0.5


def tooth_for(seed: int, teeth: tuple[str, ...] = TEETH) -> str:
    """Return the tooth of a seed, ISO 3950, as often one as the other.

    Examples
    --------
    >>> {tooth_for(seed) for seed in range(40)} == set(TEETH)
    True
    """
    return teeth[int(np.random.default_rng((seed, 8)).integers(len(teeth)))]


def longer_mm(tooth: str) -> float:
    """Return by how much a tooth is on average longer than the usual one, to half a millimetre (Ash & Nelson).

    Molars are drawn of one length with it.

    Examples
    --------
    >>> longer_mm("45"), longer_mm("41"), longer_mm("43")
    (0.0, -1.0, 4.5)
    """
    one, usual = tooth_length(tooth), tooth_length(USUAL)
    if tooth not in FORMS or one is None or usual is None:
        return 0.0
    return STEP_MM * round((one.overall_mm - usual.overall_mm) / STEP_MM)


def shown_as(scene: Scene, tooth: str) -> Scene:
    """Return a scene of one root as another tooth: its canals and numbers stay."""
    form = FORMS.get(tooth)
    if form is None:
        return scene
    return replace(scene, form=form, view=replace(scene.view, roots_up=form.upper))
