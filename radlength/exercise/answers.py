"""The answer to an exercise on a simulated image, read from the scene."""

from __future__ import annotations

import numpy as np

from radlength.exercise.helpful import helpful_view
from radlength.exercise.levels import Level, target_of
from radlength.exercise.models import Aim, Truth
from radlength.geometry import Point
from radlength.phantom import Camera, Scene
from radlength.trade import repeat_rule

CLOSE = 65
"""Points along a true canal or instrument."""


def simulated_truth(
    task: str, aim: Aim, level: Level, scene: Scene, *, seed: int, rule: str, limit_mm: float
) -> Truth:
    """Return the answer to an exercise.

    Parameters
    ----------
    task
        Its number.
    aim, level, scene, seed
        What it was made from.
    rule
        Rule for accepting a length-confirmation image.
    limit_mm
        Half-width the instrument's length is said to be known to.
    """
    camera = Camera.of(scene.view)
    target = scene.canal(target_of(level, scene))
    tool = scene.instruments[0]
    held = scene.canal(tool.canal)
    gap_mm = target.length_mm - tool.stop_to_tip_mm
    choice, why = _choice(aim, level, scene, gap_mm, rule)
    right_canal = target.name == held.name

    def seen(points_mm: np.ndarray) -> tuple[Point, ...]:
        return tuple((float(row), float(column)) for row, column in camera.project(points_mm).round(3))

    pitch = scene.view.pitch_mm
    return Truth(
        task=task,
        basis="simulated",
        level=level.name,
        seed=str(seed),
        length_mm=float(target.length_mm),
        gap_mm=float(gap_mm) if right_canal else None,
        canal_px=seen(target.at(np.linspace(0, target.length_mm, CLOSE))),
        reference_px=seen(held.at(np.linspace(0, tool.stop_to_tip_mm, CLOSE))),
        reference_mm=float(tool.stop_to_tip_mm),
        reference_limit_mm=limit_mm,
        pitch_mm=(pitch, pitch),
        choice=choice,
        why=why,
    )


def _choice(aim: Aim, level: Level, scene: Scene, gap_mm: float, rule: str) -> tuple[str | None, str]:
    if aim == "view":
        found = helpful_view(scene, level.detector)
        return found.choice, found.why
    if aim != "confirm":
        return None, ""
    stated, lies = target_of(level, scene), scene.instruments[0].canal
    if stated != lies:
        return "repeat", f"The instrument lies in canal {lies}, not in {stated}."
    named = repeat_rule(rule)
    where = f"{gap_mm:.2f} mm short of" if gap_mm >= 0 else f"{-gap_mm:.2f} mm beyond"
    return named.classify(gap_mm), f"The tip is {where} the apex; rule “{named.name}” ({named.source})."
