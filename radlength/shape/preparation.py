"""A prepared outline laid along a measured canal, and how much root is left beside it as projected.

A projection shows a root at its thickest outline: where a root is hollow on its side the true wall is thinner. So a
thin place is flagged and a thick one is never called safe.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry import Curve, check_path, fit_curve
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.scale import image_scale
from radlength.shape.edges import Edge, edges_of, foot_on
from radlength.shape.prepared import PreparedCanal, distances_mm

FloatArray = NDArray[np.float64]
USUAL_UP_TO_MM = 12.0
PROJECTED = "projected thickness: a hollow beside the canal is not seen, the true minimum is thinner"


@dataclass(frozen=True, slots=True)
class Wall:
    """What is left between the outline and one edge of the root.

    Parameters
    ----------
    name
        The edge, as the user calls it.
    thickness_mm
        Shortest distance from the outline to the marked edge at each level, shape (N,); negative where the outline
        passes it, not a number where the edge is not marked.
    u_mm
        Standard uncertainty at each level, shape (N,).
    feet_px
        At each level the rim of the outline and the nearest place of the edge, (row, column), shape (N, 2, 2).
    """

    name: str
    thickness_mm: FloatArray
    u_mm: FloatArray
    feet_px: FloatArray

    @property
    def thinnest(self) -> tuple[int, float] | None:
        """Number of the thinnest level and its thickness; ``None`` where no level has an edge."""
        if np.isnan(self.thickness_mm).all():
            return None
        at = int(np.nanargmin(self.thickness_mm))
        return at, float(self.thickness_mm[at])


@dataclass(frozen=True, slots=True)
class Preparation:
    """One option on one canal.

    Parameters
    ----------
    label
        Name of the option.
    canal_label
        Tooth and canal.
    at_mm
        Levels: distances from the end of the working length along the canal, shape (N,).
    diameter_mm
        Diameter of the outline at each level, shape (N,).
    centre_px, left_px, right_px
        The canal and both sides of the outline at fine steps, (row, column) pixels, shape (M, 2).
    rims_px
        Both sides of the outline at each level, shape (N, 2, 2).
    edges_px
        The marked edges.
    walls
        What is left on each side that is marked.
    threshold_mm
        The user's threshold, or ``None``.
    opening_mm
        From the end of the working length to where the canal is taken to open: the last level shown, and at least the
        usual 12 mm or what there is. Fits of cones and needles do not hang on what is shown.
    findings
        Flags and doubts.
    """

    label: str
    canal_label: str
    at_mm: FloatArray
    diameter_mm: FloatArray
    centre_px: FloatArray
    left_px: FloatArray
    right_px: FloatArray
    rims_px: FloatArray
    edges_px: tuple[FloatArray, ...]
    walls: tuple[Wall, ...]
    threshold_mm: float | None
    opening_mm: float
    findings: tuple[Finding, ...]


def lay_out(
    estimate: Estimate,
    options: Sequence[tuple[str, PreparedCanal]],
    *,
    radiograph: Radiograph | None = None,
    edges_px: Mapping[str, ArrayLike] | None = None,
    threshold_mm: float | None = None,
    up_to_mm: float | None = None,
    step_mm: float = 1.0,
) -> tuple[Preparation, ...]:
    """Return every option laid along a measured canal.

    Parameters
    ----------
    estimate
        The measured canal: it must have a working length.
    options
        (name, prepared canal), side by side.
    radiograph
        The image, for the shape of its pixels.
    edges_px
        Edges of the root by name, marked or traced, (row, column) pixels; one on each side of the canal at most.
    threshold_mm
        Projected thickness below which a level is flagged, the user's own.
    up_to_mm
        How far from the end of the working length, in millimetres; by default 12 or what there is.
    step_mm
        Step of the levels.

    Raises
    ------
    MarkError
        No working length, edges that are no edges of this root, or a threshold of no root.
    """
    if estimate.working_length is None:
        raise MarkError(
            "no working length",
            "a preparation ends at a working length",
            "state the terminus: --offset-mm or --terminus-table of radlength mark",
            code="preparation-no-length",
            subject=estimate.canal.label,
        )
    if threshold_mm is not None and not 0 < threshold_mm <= 3:
        raise MarkError(
            f"a threshold of {threshold_mm} mm",
            "more than 0 and up to 3 mm of root",
            f"write {threshold_mm / 1000:g} for {threshold_mm:g} micrometres" if threshold_mm > 50 else "",
            code="preparation-threshold",
            subject=estimate.canal.label,
        )
    scale, share = image_scale(estimate.reference, radiograph, canal_name=estimate.canal.label)
    mm = np.asarray(scale)
    curve = fit_curve(check_path(estimate.canal.path_px) * mm)
    short = estimate.canal_length.value_mm - estimate.working_length.value_mm
    reach = curve.length - short - 0.5
    levels = distances_mm(min(USUAL_UP_TO_MM if up_to_mm is None else up_to_mm, reach), step_mm)
    opening = max(float(levels[-1]), min(USUAL_UP_TO_MM, reach))
    edges = edges_of(edges_px or {}, curve, mm, subject=estimate.canal.label)
    laying = _Laying(estimate, curve, mm, share, short, levels, opening, edges, threshold_mm)
    return tuple(laying.lay(name, prepared) for name, prepared in options)


@dataclass(frozen=True, slots=True)
class _Laying:
    estimate: Estimate
    curve: Curve
    mm: FloatArray
    share: float
    short: float
    levels: FloatArray
    opening: float
    edges: tuple[Edge, ...]
    threshold_mm: float | None

    def lay(self, name: str, prepared: PreparedCanal) -> Preparation:
        fine = np.linspace(0.0, float(self.levels[-1]), max(int(self.levels[-1] * 8), 2) + 1)
        centre, across = self._along(fine)
        half = np.array([prepared.diameter_mm(float(x)) for x in fine])[:, None] / 2
        places, sideways = self._along(self.levels)
        wide = np.array([prepared.diameter_mm(float(x)) for x in self.levels])
        out = sideways * wide[:, None] / 2
        walls = tuple(self._wall(edge, places, sideways, wide) for edge in self.edges)
        return Preparation(
            label=name,
            canal_label=self.estimate.canal.label,
            at_mm=self.levels,
            diameter_mm=wide,
            centre_px=centre / self.mm,
            left_px=(centre + half * across) / self.mm,
            right_px=(centre - half * across) / self.mm,
            rims_px=np.stack([places + out, places - out], axis=1) / self.mm,
            edges_px=tuple(edge.points_mm / self.mm for edge in self.edges),
            walls=walls,
            threshold_mm=self.threshold_mm,
            opening_mm=self.opening,
            findings=tuple(doubt for wall in walls for doubt in self._doubts(name, wall)),
        )

    def _along(self, from_end: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return places on the canal and unit vectors across it, shape (N, 2) both, in millimetres."""
        s = self.curve.length - self.short - from_end
        around = np.array([[self.curve.point_at(x + d) for d in (-0.02, 0.0, 0.02)] for x in s])
        ahead = around[:, 2] - around[:, 0]
        ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
        return around[:, 1], np.column_stack([-ahead[:, 1], ahead[:, 0]])

    def _wall(self, edge: Edge, places: FloatArray, across: FloatArray, wide: FloatArray) -> Wall:
        outward = edge.side * across
        rim = places + outward * wide[:, None] / 2
        thickness = np.array([edge.beyond(p, o, r) for p, o, r in zip(places, outward, rim, strict=True)])
        marks = self.estimate.marking
        u = np.sqrt(2 * marks.path_mm**2 + (self.share * (np.abs(thickness) + wide / 2)) ** 2)
        feet = np.array([foot_on(r, edge.points_mm) for r in rim])
        return Wall(edge.name, thickness, u, np.stack([rim, feet], axis=1) / self.mm)

    def _doubts(self, name: str, wall: Wall) -> list[Finding]:
        subject = f"{self.estimate.canal.label}, {name}"
        thinnest = wall.thinnest
        if thinnest is None:
            return [
                Finding(
                    "edge-elsewhere",
                    f"The {wall.name} edge is not marked beside any level.",
                    "Mark it from the apex up, beside the canal.",
                    "question",
                    subject,
                )
            ]
        at, least = thinnest
        if least <= 0:
            passed = self.levels[np.nan_to_num(wall.thickness_mm, nan=1.0) <= 0]
            return [
                Finding(
                    "outline-beyond-root",
                    f"The outline of {name} passes the marked {wall.name} edge of the root at"
                    f" {passed[0]:g} to {passed[-1]:g} mm from the end of the working length.",
                    "The taper or the size is larger than this root allows, or a mark is wrong.",
                    "serious",
                    subject,
                )
            ]
        if self.threshold_mm is None:
            return []
        return self._thin(name, wall, at, least)

    def _thin(self, name: str, wall: Wall, at: int, least: float) -> list[Finding]:
        limit = self.threshold_mm
        if limit is None:
            return []
        arm = 1.96 * float(wall.u_mm[at])
        below = self.levels[np.nan_to_num(wall.thickness_mm, nan=np.inf) < limit]
        if len(below):
            where = f"{below[0]:g} mm" if len(below) == 1 else f"{below[0]:g} to {below[-1]:g} mm"
            words = f"is below your {limit:g} mm at {where} from the end, least at {self.levels[at]:g} mm"
        elif least - arm < limit:
            words = f"may be below your {limit:g} mm at {self.levels[at]:g} mm from the end"
        else:
            return []
        figures = f"{least:.2f} mm ({max(least - arm, 0):.2f}–{least + arm:.2f})"
        return [
            Finding(
                "wall-thin",
                f"{name}: projected thickness to the {wall.name} edge, {figures}, {words}.",
                "A projection overstates the true minimum: the wall may be thinner still.",
                "serious" if len(below) else "question",
                f"{self.estimate.canal.label}, {name}",
            )
        ]


def thickness_words(wall: Wall, number: int) -> str:
    """Return a thickness with its uncertainty, or that there is no edge.

    Examples
    --------
    >>> wall = Wall("mesial", np.array([1.2, np.nan]), np.array([0.14, 0.14]), np.zeros((2, 2, 2)))
    >>> thickness_words(wall, 0), thickness_words(wall, 1)
    ('1.20 ±0.27', 'not marked')
    """
    value = float(wall.thickness_mm[number])
    return "not marked" if math.isnan(value) else f"{value:.2f} ±{1.96 * float(wall.u_mm[number]):.2f}"
