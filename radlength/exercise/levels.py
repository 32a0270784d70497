"""Levels of difficulty: what each puts before the film, and how the film is exposed. All shapes are invented.

Every level draws its own numbers from the seed of an exercise, within the ranges that stand here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np

from radlength.exercise.one_rooted import ROOMY, TEETH, USUAL, longer_mm, shown_as, tooth_for
from radlength.exercise.refusal import ExerciseError
from radlength.phantom import Instrument, Kind, Scene, random_scene
from radlength.phantom.detector import Detector

PITCH_MM, SHAPE_PX = 0.03, (1240, 940)
STOP_STEP_MM = 0.5
"""An instrument is set to a half millimetre. Common practice, no source."""
SET_MM = (19.0, 22.5)
"""Ends of the lengths that are told where an image is to be read, millimetres, of a second premolar or a molar: the
same for every gap. Other teeth are longer or shorter by what they are on average."""

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Level:
    """One kind of difficulty.

    Parameters
    ----------
    name
        Plain name. It may give an answer away, so it stands in the teacher's file only.
    difficulty
        1 to 6, what the learner is told.
    kind
        What kind of tooth.
    ranges
        Numbers of the scene, each drawn evenly between two ends.
    gap_mm
        From the tip of the instrument to the foramen; negative beyond it.
    detector
        The exposure.
    stated
        The canal the instrument is said to lie in, where that is not the first one.
    tool
        The canal it does lie in, where that is not the first one.
    read
        Whether the gap is to be read: then the tooth is made for a set length drawn from :data:`SET_MM`, so that the
        number that is told tells nothing of the gap.
    helps
        The further view that has to help, and no other, where an image is made to be judged.
    """

    name: str
    difficulty: int
    kind: Kind = "single"
    ranges: dict[str, Range] = field(default_factory=dict)
    gap_mm: Range = (0.5, 2.0)
    detector: Detector = field(default_factory=Detector)
    stated: str | None = None
    tool: str | None = None
    read: bool = False
    helps: str | None = None


_STRAIGHT: dict[str, Range] = {
    "bend_deg": (0, 5), "s_bend_deg": (-1, 1), "theta_deg": (0, 5), "phi_error_deg": (-2, 2),
    "horizontal_deg": (-3, 3), "yaw_deg": (-2, 2), "roll_deg": (-3, 3), "inclination_deg": (-3, 3),
    "length_mm": (20, 24),
}  # fmt: skip
_PLAIN: dict[str, Range] = {
    "theta_deg": (0, 10), "phi_error_deg": (-3, 3), "horizontal_deg": (-4, 4), "yaw_deg": (-4, 4),
    "roll_deg": (-4, 4), "inclination_deg": (-4, 4), "length_mm": (19.5, 23),
}  # fmt: skip
_ACROSS: dict[str, Range] = _PLAIN | {"bend_deg": (22, 38), "azimuth_deg": (-20, 20), "s_bend_deg": (-3, 3)}
_ALONG: dict[str, Range] = _PLAIN | {"bend_deg": (24, 38), "azimuth_deg": (75, 105), "s_bend_deg": (-2, 2)}
_OVER: dict[str, Range] = _PLAIN | {
    "horizontal_deg": (-2, 2),
    "bend_deg": (18, 34),
    "length_mm": (19.5, 21.5),
}
_APART: dict[str, Range] = _OVER | {"bend_deg": (14, 26)}
_ASIDE: dict[str, Range] = _OVER | {"horizontal_deg": (18, 26)}
_STEEP: dict[str, Range] = {"theta_deg": (18, 24), "phi_error_deg": (16, 20)}
_AT, _NEAR, _SHORT = (0.6, 0.9), (0.1, 0.3), (1.5, 3.0)
_MOLAR: dict[str, Any] = {"kind": "lower_molar", "ranges": _APART, "read": True}
_POOR = Detector(quanta=110.0, gamma=1.9, scatter=0.35, mtf_sigma_mm=0.06)

LEVELS: dict[str, Level] = {
    level.name: level
    for level in (
        Level("straight", 1, ranges=_STRAIGHT),
        Level("curved root", 2, ranges=_ACROSS),
        Level("bent twice", 2, kind="s_bend", ranges=_PLAIN | {"azimuth_deg": (-15, 15)}),
        Level("overlapping canals", 3, kind="lower_molar", ranges=_OVER, helps="shift"),
        Level("bend along the beam", 4, ranges=_ALONG, gap_mm=(2.5, 4.0)),
        Level("poor exposure", 5, ranges=_ACROSS, detector=_POOR),
        Level("steep tube", 5, ranges=_STRAIGHT | _STEEP),
        Level("tip at length", 2, ranges=_ACROSS, gap_mm=_AT, read=True),
        Level("tip very near", 6, ranges=_ACROSS, gap_mm=_NEAR, read=True),
        Level("instrument short", 6, ranges=_ACROSS, gap_mm=_SHORT, read=True),
        Level("instrument long", 6, ranges=_ACROSS, gap_mm=(-1.2, -0.5), read=True),
        Level("wrong canal", 6, **_MOLAR, gap_mm=_AT, stated="D"),
        Level("mesial canal for distal", 6, **_MOLAR, gap_mm=_AT, tool="D"),
        Level("mesial tip at length", 6, **_MOLAR, gap_mm=_AT),
        Level("distal tip at length", 6, **_MOLAR, gap_mm=_AT, stated="D", tool="D"),
        Level("mesial tip very near", 6, **_MOLAR, gap_mm=_NEAR),
        Level("distal tip very near", 6, **_MOLAR, gap_mm=_NEAR, stated="D", tool="D"),
        Level("distal instrument short", 6, **_MOLAR, gap_mm=_SHORT, stated="D", tool="D"),
        Level("canals side by side", 4, kind="lower_molar", ranges=_ASIDE, helps="enough"),
        Level("molar, poor exposure", 5, kind="lower_molar", ranges=_ASIDE, detector=_POOR, helps="exposure"),
        Level("molar, steep tube", 5, kind="lower_molar", ranges=_ASIDE | _STEEP, helps="vertical"),
    )
}


def shape_for(pitch_mm: float) -> tuple[int, int]:
    """Return rows and columns that show as much as the usual image at another pitch.

    Raises
    ------
    ExerciseError
        A pitch out of range.

    Examples
    --------
    >>> shape_for(0.06)
    (620, 470)
    """
    if not 0.015 <= pitch_mm <= 0.3:
        raise ExerciseError(f"a pitch of {pitch_mm} mm", "0.015 to 0.3 mm", code="exercise-pitch")
    return round(SHAPE_PX[0] * PITCH_MM / pitch_mm), round(SHAPE_PX[1] * PITCH_MM / pitch_mm)


def level_of(name: str) -> Level:
    """Return a level by its name.

    Raises
    ------
    ExerciseError
        There is none of that name.
    """
    if name not in LEVELS:
        raise ExerciseError(f"a level {name!r}", ", ".join(LEVELS), code="exercise-level")
    return LEVELS[name]


def scene_of(
    level: Level, seed: int, *, pitch_mm: float = PITCH_MM, shape_px: tuple[int, int] = SHAPE_PX
) -> Scene:
    """Return the scene of an exercise, its instrument set to a half millimetre where the gap allows it.

    Parameters
    ----------
    level
        What is difficult.
    seed
        Same seed and level, same scene.
    pitch_mm, shape_px
        Pixel pitch; rows and columns of the image.

    Examples
    --------
    >>> scene = scene_of(LEVELS["instrument long"], 5)
    >>> scene.gap_mm(scene.instruments[0]) < 0
    True
    """
    rng = np.random.default_rng((seed, 7))
    numbers: dict[str, Any] = {name: float(rng.uniform(*ends)) for name, ends in level.ranges.items()}
    if "azimuth_deg" in numbers:
        numbers["azimuth_deg"] += 180.0 * float(rng.integers(2))
    gap_mm = float(rng.uniform(*level.gap_mm))
    teeth = {"single": TEETH, "s_bend": ROOMY}.get(level.kind, (USUAL,))
    tooth = tooth_for(seed, teeth)
    numbers["length_mm"] += longer_mm(tooth)
    make = partial(
        random_scene, seed, kind=level.kind, shown=(), pitch_mm=pitch_mm, shape_px=shape_px, gap_mm=1.0
    )
    scene = make(**numbers)
    canal = scene.canal(level.tool or scene.canals[0].name)
    if level.read:
        low, high = (round(end / STOP_STEP_MM) for end in SET_MM)
        set_mm = STOP_STEP_MM * int(rng.integers(low, high + 1)) + longer_mm(tooth)
        numbers["length_mm"] += set_mm + gap_mm - canal.length_mm
        scene = make(**numbers)
    else:
        set_mm = _set_length(canal.length_mm, gap_mm, level.gap_mm)
    return shown_as(replace(scene, instruments=(Instrument(canal.name, set_mm),)), tooth)


def _set_length(length_mm: float, gap_mm: float, allowed: Range) -> float:
    """Return stop to tip: on a half millimetre where a gap within the range makes one, else on a tenth, or exact."""
    for step in (STOP_STEP_MM, 0.1):
        nearest = round((length_mm - gap_mm) / step) * step
        if allowed[0] <= length_mm - nearest <= allowed[1]:
            return round(nearest, 1)
    return length_mm - gap_mm


def target_of(level: Level, scene: Scene) -> str:
    """Return the canal an exercise asks about."""
    return level.stated or scene.canals[0].name


Render = Callable[[Scene, Detector], "np.ndarray"]
"""Makes the pixels of a scene, uint8 or uint16."""


def rendered(scene: Scene, detector: Detector) -> np.ndarray:
    """Return the pixels of a scene as the phantom renders them."""
    from radlength.phantom.render import render  # noqa: PLC0415

    return render(scene, detector=detector).pixels
