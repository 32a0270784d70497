"""The canals of each kind of tooth, in the world. Invented shapes after textbooks, from memory."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.curve import Bends, CanalCurve, canal_curve, rotation
from radlength.phantom.scene import Kind

if TYPE_CHECKING:
    from radlength.phantom.draw import Draw

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Plan:
    """One canal of a molar: name, (x, z) of its reference point, extra length, and how it bends."""

    name: str
    x_mm: float
    z_mm: float
    extra_mm: float
    bends: Bends


_LOWER = (
    _Plan("MB", 1.0, 1.3, 0.0, Bends(24, 180, 9.0, lean_x_deg=9, lean_z_deg=2)),
    _Plan("ML", 1.0, -1.3, -0.4, Bends(20, 180, 9.0, lean_x_deg=9, lean_z_deg=-3)),
    _Plan("D", -1.0, 0.0, -0.6, Bends(10, 180, 6.0, lean_x_deg=-9, return_deg=4)),
)
_FOURTH_LOWER = _Plan("DL", -1.0, -1.3, -0.8, Bends(10, 180, 6.0, lean_x_deg=-10, lean_z_deg=-3))
_UPPER = (
    _Plan("MB", 1.0, 1.4, 0.0, Bends(22, 180, 8.0, lean_x_deg=8, lean_z_deg=8)),
    _Plan("DB", -1.0, 1.4, -0.4, Bends(12, 0, 7.0, lean_x_deg=-9, lean_z_deg=7)),
    _Plan("P", 0.0, -1.2, 1.2, Bends(18, 90, 8.0, lean_x_deg=-1, lean_z_deg=-17)),
)
_FOURTH_UPPER = _Plan("MB2", 0.9, 0.1, -0.7, Bends(24, 180, 8.0, lean_x_deg=8, lean_z_deg=2))
FOURTH_LOWER_SHARE = 0.22
"""Share of lower first molars with a second distal canal: 21.58 % of 2081 (cone-beam study, abstract)."""
FOURTH_UPPER_SHARE = 0.68
"""Share of upper first molars with a second mesiobuccal canal: 68.2 % (review of cone-beam studies)."""


def canals_of(kind: Kind, numbers: Draw, rng: np.random.Generator) -> tuple[CanalCurve, ...]:
    """Return the canals of a tooth, the middle of the first one at the world's origin.

    Parameters
    ----------
    kind
        What kind of tooth.
    numbers
        The numbers drawn for the scene.
    rng
        Source of the small differences between molars.
    """
    turn = rotation(numbers.inclination_deg, numbers.lean_deg)
    canals = (
        _molar(kind, numbers, rng)
        if kind in ("lower_molar", "upper_molar")
        else (_single(kind, numbers, rng),)
    )
    return tuple(
        replace(canal, points_mm=canal.points_mm @ turn.T, tangents=canal.tangents @ turn.T)
        for canal in canals
    )


def _single(kind: Kind, numbers: Draw, rng: np.random.Generator) -> CanalCurve:
    bends = Bends(numbers.bend_deg, numbers.azimuth_deg, numbers.bend_mm, numbers.s_bend_deg)
    if kind == "s_bend":
        side = rng.choice((-1.0, 1.0))
        bends = replace(bends, angle_deg=side * (15 + 0.4 * numbers.bend_deg), s_bend_deg=side * -18.0)
    elif kind == "wide_apex":
        bends = replace(bends, angle_deg=0.25 * numbers.bend_deg)
    start = (0.0, -numbers.length_mm / 2, 0.0)
    return canal_curve("single", start, numbers.length_mm, bends)


def _molar(kind: Kind, numbers: Draw, rng: np.random.Generator) -> tuple[CanalCurve, ...]:
    lower = kind == "lower_molar"
    plans: tuple[_Plan, ...] = _LOWER if lower else _UPPER
    if rng.random() < (FOURTH_LOWER_SHARE if lower else FOURTH_UPPER_SHARE):
        plans = (*plans, _FOURTH_LOWER if lower else _FOURTH_UPPER)
    sway = rng.normal(0.0, 1.0, (len(plans), 4))
    return tuple(_planned(plan, numbers, by) for plan, by in zip(plans, sway, strict=True))


def _planned(plan: _Plan, numbers: Draw, sway: FloatArray) -> CanalCurve:
    bends = replace(
        plan.bends,
        angle_deg=plan.bends.angle_deg * (0.4 + numbers.bend_deg / 33) + 2 * sway[0],
        azimuth_deg=plan.bends.azimuth_deg + 12 * sway[1],
        lean_x_deg=plan.bends.lean_x_deg + 1.2 * sway[2],
    )
    length = numbers.length_mm + plan.extra_mm + (0.2 * float(sway[3]) if plan.extra_mm else 0.0)
    start = (plan.x_mm, -numbers.length_mm / 2, plan.z_mm)
    return canal_curve(plan.name, start, length, bends)
