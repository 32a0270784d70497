"""A canal before and after: how far it was carried to one side, how much straighter and shorter it became."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError, MarkError
from radlength.finding import Finding
from radlength.geometry import Curve, as_points, fit_curve
from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.scale import Reference, image_scale
from radlength.shape.changes import changes
from radlength.shape.reading import Reading
from radlength.shape.registration import LIMIT_PX, Kind, Registration, register
from radlength.shape.transportation import (
    ACCEPTABLE_MM,
    ACCEPTABLE_SOURCE,
    OPPOSITE,
    SOURCE,
    Transport,
    side_on_image,
    transport,
)
from radlength.shape.walls import Walls, find_walls
from radlength.uncertainty import Marking

FloatArray = NDArray[np.float64]
LEVELS_MM = (1.0, 2.0, 3.0, 5.0, 7.0, 9.0)
WIDEST_MM = 1.0
"""Half a canal is nowhere wider than this where walls are looked for."""

NEAR_BLOCKS = 6


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two images.

    Parameters
    ----------
    radiograph
        The image.
    canal
        The canal marked on it, from the crown to its apical end.
    walls
        Its walls as marked; ``None`` to find them.
    """

    radiograph: Radiograph
    canal: Canal
    walls: Walls | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed.

    Parameters
    ----------
    label
        Tooth and canal.
    registration
        How the images lie on each other.
    mm_per_px
        Scale of the first image, (down, across).
    levels
        Projected transportation and centring at the levels.
    levels_px
        Middle of the first canal at each level, first image, shape (N, 2).
    left_on_image
        Which side of the first image lies left of one who looks along the path, at each level: ``"right"`` for a canal
        that runs down it; ``"left"``, ``"upper"`` and ``"lower"`` for others.
    walls
        Walls (before, after), both on the first image.
    path_px
        Canal (before, after), both on the first image.
    readings
        Length and angles before, after, and their change.
    findings
        Doubts.
    """

    label: str
    registration: Registration
    mm_per_px: tuple[float, float]
    levels: tuple[Transport, ...]
    levels_px: FloatArray
    left_on_image: tuple[str, ...]
    walls: tuple[Walls, Walls]
    path_px: tuple[FloatArray, FloatArray]
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]

    @property
    def residual_mm(self) -> float:
        """Residual of the registration beside the canal, millimetres."""
        return _near(self.registration, self.path_px[0]) * max(self.mm_per_px)

    def as_dict(self) -> dict[str, Any]:
        """Return the comparison as plain data."""
        return {
            "canal": self.label,
            "registration": self.registration.as_dict(),
            "residual_mm": self.residual_mm,
            "source": SOURCE,
            "levels": [
                level.as_dict() | {"left_on_image": side}
                for level, side in zip(self.levels, self.left_on_image, strict=True)
            ],
            "walls": [walls.how for walls in self.walls],
            "readings": [one.as_dict() for one in self.readings],
            "findings": [finding.as_dict() for finding in self.findings],
        }


def compare_canal(
    before: Side,
    after: Side,
    reference: Reference | None,
    *,
    kind: Kind = "radiograph",
    levels_mm: Sequence[float] = LEVELS_MM,
    limit_px: float = LIMIT_PX,
    marking: Marking | None = None,
    registration: Registration | None = None,
    seed: int = 0,
) -> Comparison:
    """Compare a canal on two images of one view.

    Parameters
    ----------
    before, after
        The two images, the canal marked on both from the crown.
    reference
        Scale of the first image, as for a length.
    kind
        See :func:`radlength.shape.registration.register`.
    levels_mm
        Distances from the apical end of the first canal.
    limit_px
        Largest residual of the registration.
    marking
        Spread of the marks.
    registration
        How the images lie on each other, where that is known already: another canal of the same two images.
    seed
        Seed of the draws behind the angles.

    Raises
    ------
    ImageError
        The view has changed, or the images have nothing in common.
    MarkError
        Levels off the canal, a path that runs the wrong way, or walls that do not stand out.
    """
    marking = marking or Marking()
    scale, _ = image_scale(reference, before.radiograph, canal_name=before.canal.label)
    mm = np.asarray(scale)
    levels = _checked_levels(
        levels_mm, fit_curve(np.asarray(before.canal.path_px) * mm).length, before.canal.label
    )
    names = before.radiograph.name, after.radiograph.name
    names = names if names[0] != names[1] else (f"{names[0]} (before)", f"{names[1]} (after)")
    laid = registration or _laid(before, after, kind, WIDEST_MM / float(mm.mean()), limit_px, names)
    path = laid.to_first(after.canal.path_px)
    _check_ways(np.asarray(before.canal.path_px), path, before.canal.label)
    _check_near(laid, np.asarray(before.canal.path_px), limit_px, names)
    walls = _walls(before, after, laid, mm)
    curve = fit_curve(before.canal.path_px)
    u_shift = math.hypot(_near(laid, np.asarray(before.canal.path_px)), laid.u_px) * float(mm.mean())
    done, places, sides = _levels(curve, walls, mm, levels, u_shift, before.canal.label)
    moved = replace(after.canal, path_px=as_points(path), assists=())
    readings = changes((before.canal, moved), reference, before.radiograph, marking, seed)
    return Comparison(
        label=before.canal.label,
        registration=laid,
        mm_per_px=scale,
        levels=done,
        levels_px=places,
        left_on_image=sides,
        walls=walls,
        path_px=(np.asarray(before.canal.path_px), path),
        readings=readings,
        findings=_doubts(before.canal.label, done, sides, walls),
    )


def _checked_levels(levels_mm: Sequence[float], length_mm: float, label: str) -> tuple[float, ...]:
    if not levels_mm or not all(0 < level < length_mm - 0.5 for level in levels_mm):
        raise MarkError(
            f"levels at {', '.join(f'{level:g}' for level in levels_mm) or 'none'} mm",
            f"distances from the apical end above 0 and below {length_mm - 0.5:.1f} mm",
            "give millimetres",
            code="levels-off-canal",
            subject=label,
        )
    return tuple(sorted(set(map(float, levels_mm))))


def _laid(
    before: Side, after: Side, kind: Kind, half_px: float, limit_px: float, names: tuple[str, str]
) -> Registration:
    ignore = _canal_mask(before, half_px)
    return register(
        *_alike(before.radiograph, after.radiograph), kind=kind, ignore=ignore, limit_px=limit_px, names=names
    )


def _alike(first: Radiograph, second: Radiograph) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return both grey images, the second inverted where low values are bright in one of them alone."""
    if first.facts.photometric == second.facts.photometric:
        return first.stored, second.stored
    return first.stored, np.asarray(np.iinfo(second.stored.dtype).max - second.stored)


def _canal_mask(side: Side, half_px: float) -> NDArray[np.bool_]:
    """Return the neighbourhood of the canal: what is shaped there must not pull the images onto each other."""
    mask = np.zeros(side.radiograph.shape, np.uint8)
    points = np.rint(fit_curve(side.canal.path_px).resample(100)[:, ::-1]).astype(np.int32)
    cv2.polylines(mask, [points.reshape(-1, 1, 2)], False, 1, max(round(2 * half_px), 3))
    return np.asarray(mask > 0)


def _check_ways(before: FloatArray, after: FloatArray, label: str) -> None:
    straight = np.hypot(*(before[0] - after[0])) + np.hypot(*(before[-1] - after[-1]))
    crossed = np.hypot(*(before[0] - after[-1])) + np.hypot(*(before[-1] - after[0]))
    if crossed < straight:
        raise MarkError(
            "the paths run opposite ways on the two images",
            "both from the crown to the apical end",
            "mark one of them again, the other way round",
            code="path-reversed",
            subject=label,
        )
    apart = min(np.hypot(*(after - point).T).min() for point in before)
    size = np.hypot(*(before[-1] - before[0]))
    if apart > 0.15 * size:
        raise MarkError(
            "the paths lie far apart on the two images",
            "the same canal on both",
            "check which canal was marked",
            code="paths-apart",
            subject=label,
        )


def _near(laid: Registration, path: FloatArray) -> float:
    """Return the median residual of the blocks nearest to the canal, pixels of the first image."""
    places = laid.blocks.places_px
    away = np.array([np.hypot(*(path - place).T).min() for place in places])
    nearest = np.argsort(away)[:NEAR_BLOCKS]
    return float(np.median(laid.blocks.left_px[nearest]))


def _check_near(laid: Registration, path: FloatArray, limit_px: float, names: Sequence[str]) -> None:
    beside = _near(laid, path)
    if beside > limit_px:
        raise ImageError(
            f"beside the canal {names[1]} is left {beside:.1f} pixels off {names[0]}",
            f"{limit_px:g} pixel{'s' * (limit_px != 1)} at most",
            "the tooth has moved against what lies around it, or the view has changed; nothing is compared",
            code="view-changed",
        )


def _walls(before: Side, after: Side, laid: Registration, mm: FloatArray) -> tuple[Walls, Walls]:
    found = []
    for side, size in ((before, 1.0), (after, laid.size)):
        if side.walls is not None:
            found.append(side.walls)
            continue
        widest = WIDEST_MM / float(mm.mean()) * size
        found.append(
            find_walls(
                side.radiograph.stored, side.canal.path_px, widest_px=widest, name=side.radiograph.name
            )
        )
    second = found[1]
    on_first = Walls(
        laid.to_first(second.left_px), laid.to_first(second.right_px), second.how, second.u_px / laid.size
    )
    return found[0], on_first


def _levels(
    curve: Curve,
    walls: tuple[Walls, Walls],
    mm: FloatArray,
    levels: Sequence[float],
    u_shift: float,
    label: str,
) -> tuple[tuple[Transport, ...], FloatArray, tuple[str, ...]]:
    in_mm = fit_curve(curve.clicks * mm)
    done, places, sides = [], [], []
    for level in levels:
        s = in_mm.length - level
        here, ahead = in_mm.point_at(s), in_mm.point_at(s + 0.02) - in_mm.point_at(s - 0.02)
        ahead = ahead / np.linalg.norm(ahead)
        left = np.array([-ahead[1], ahead[0]])
        reach = [
            (_reach(one.left_px * mm, here, left), _reach(one.right_px * mm, here, -left)) for one in walls
        ]
        if any(side is None for pair in reach for side in pair):
            raise MarkError(
                f"a wall is not there at {level:g} mm from the apical end",
                "levels beside which both walls are marked on both images",
                "leave the level out, or mark the walls further",
                code="level-without-wall",
                subject=label,
            )
        first, second = reach
        u_wall = float(np.hypot(walls[0].u_px, walls[1].u_px) / np.sqrt(2) * mm.mean())
        done.append(
            transport(
                level,
                (-float(first[0] or 0), -float(first[1] or 0)),
                (-float(second[0] or 0), -float(second[1] or 0)),
                u_wall_mm=u_wall,
                u_shift_mm=u_shift,
            )
        )
        places.append(here / mm)
        sides.append(side_on_image(left.tolist()))
    return tuple(done), np.array(places), tuple(sides)


def _reach(wall_mm: FloatArray, here: FloatArray, outward: FloatArray) -> float | None:
    """Return how far along a line across the canal a wall lies, negative behind the middle; the nearest crossing."""
    across = np.array([-outward[1], outward[0]])
    away = wall_mm - here
    x, y = away @ outward, away @ across
    crosses = np.flatnonzero((y[:-1] <= 0) != (y[1:] <= 0))
    if not len(crosses):
        return None
    met = x[crosses] - y[crosses] * (x[crosses + 1] - x[crosses]) / (y[crosses + 1] - y[crosses])
    return float(met[np.argmin(np.abs(met))])


def _doubts(
    label: str, levels: Sequence[Transport], sides: Sequence[str], walls: tuple[Walls, Walls]
) -> tuple[Finding, ...]:
    found = [
        Finding(
            "transport-projected",
            "Transportation and centring are projected: what went along the beam is not seen.",
            "Cross-sections show more.",
            "note",
            label,
        )
    ]
    if "found" in (walls[0].how, walls[1].how):
        found.append(
            Finding(
                "walls-found",
                "The walls were found by the program.",
                "Look at the picture: where a line leaves the wall, mark it by hand.",
                "note",
                label,
            )
        )
    large = [
        (
            left if one.transportation_mm > 0 else OPPOSITE[left],
            f"at {one.at_mm:g} mm {abs(one.transportation_mm):.2f} mm",
        )
        for left, one in zip(sides, levels, strict=True)
        if abs(one.transportation_mm) > max(ACCEPTABLE_MM, 1.96 * one.u_mm)
    ]
    if large:
        told = "; ".join(
            f"to the {side} side of the image: {', '.join(words for _, words in run)}"
            for side, run in groupby(large, key=lambda one: one[0])
        )
        found.append(
            Finding(
                "transport-large",
                f"The canal was carried {told}. {ACCEPTABLE_SOURCE}.",
                "Look at the picture before anything is concluded.",
                "question",
                label,
            )
        )
    return tuple(found)
