"""How much straighter and shorter a canal became, each angle by its own method."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from radlength.errors import MarkError
from radlength.geometry import Curve, fit_curve
from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.scale import Reference, image_scale
from radlength.shape.curvature import Curvature, measure_curvature
from radlength.shape.reading import Reading
from radlength.uncertainty import Marking


def changes(
    canals: tuple[Canal, Canal],
    reference: Reference | None,
    radiograph: Radiograph,
    marking: Marking,
    seed: int,
) -> tuple[Reading, ...]:
    """Return lengths and angles of a canal before and after, both on the first image, and what changed.

    Parameters
    ----------
    canals
        Before and after, in pixels of the first image.
    reference, radiograph
        Scale and image of the first.
    marking
        Spread of the marks.
    seed
        Seed of the draws behind the angles.
    """
    mm, share = image_scale(reference, radiograph, canal_name=canals[0].label)
    lengths = [fit_curve(np.asarray(c.path_px) * mm) for c in canals]
    u = [float(np.hypot(_u_length(curve, marking), share * curve.length)) for curve in lengths]
    change = lengths[1].length - lengths[0].length
    marks = math.hypot(*(_u_length(curve, marking) for curve in lengths))
    u_change = float(np.hypot(marks, share * change))
    source = "along the curve, both at the scale of the first image"
    found = [
        _normal(name, "curve", source, value, sd)
        for name, value, sd in (
            ("length before", lengths[0].length, u[0]),
            ("length after", lengths[1].length, u[1]),
            ("length change", change, u_change),
        )
    ]
    try:
        bends = [
            measure_curvature(c, reference, radiograph=radiograph, marking=marking, seed=seed + k)
            for k, c in enumerate(canals)
        ]
    except MarkError:
        return tuple(found)
    return (*found, *_straightening(*bends))


def _straightening(before: Curvature, after: Curvature) -> list[Reading]:
    found = []
    for name in ("Schneider angle", "Weine angle"):
        pair = [next((r for r in bend.readings if r.name == name), None) for bend in (before, after)]
        if pair[0] is None or pair[1] is None:
            continue
        one, other = pair[0], pair[1]
        found += [replace(one, name=f"{name} before"), replace(other, name=f"{name} after")]
        u = float(np.hypot(one.u, other.u))
        found.append(
            Reading(
                f"straightening, {name}",
                one.method,
                "angle before less angle after",
                one.value - other.value,
                u,
                one.value - other.value - 1.96 * u,
                one.value - other.value + 1.96 * u,
                "deg",
            )
        )
    return found


def _u_length(curve: Curve, marking: Marking) -> float:
    sd = np.full(len(curve.clicks), marking.path_mm)
    sd[0], sd[-1] = marking.stop_mm, marking.apex_mm
    return float(np.sqrt(np.sum((curve.length_gradient() * sd[:, None]) ** 2)))


def _normal(name: str, method: str, source: str, value: float, u: float) -> Reading:
    return Reading(name, method, source, value, u, value - 1.96 * u, value + 1.96 * u, "mm")
