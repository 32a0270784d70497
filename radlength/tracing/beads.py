"""The beads of a straight wire from one click on it: their middles to a fraction of a pixel. Knows no scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.tracing.anchors import assumed_mm, pixel_mm
from radlength.tracing.ball_edges import rays
from radlength.tracing.distance import distance
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import grey_ends
from radlength.tracing.objects import FoundPoints, looked_for, nothing
from radlength.tracing.round_shadow import Shadow, round_shadow
from radlength.tracing.straight import Line, line_through
from radlength.tracing.strip import inside, sample, steps, strip_along

FloatArray = NDArray[np.float64]

METHOD = "wire beads"
RADII_MM = (0.3, 1.2)
TRIES_MM = (0.4, 0.55, 0.75, 1.0)
MOST = 40
"""Places on a wire that are tried as beads."""
BESIDE_MM = 0.15
"""A bead whose middle is further from the wire is none of it."""
LEAST_SHARE, TRUSTED_SHARE = 0.4, 0.5
"""Of the rim; the wire hides a fifth of it."""
LEAST_CONTRAST = 4.0
ROUGH_MM = 0.04
ALIKE = 0.2
"""Beads of one wire differ in size by less than this part."""
EVEN = 0.12
"""Steps between beads differ by less than this part, by perspective and by hand; a bead left out doubles one."""
REACHES = 1.2
"""A wire that goes on past its last bead to within so many radii of where the next would lie may have one there."""
COVERED, PAST_MM = 0.8, 0.2
"""So may one that ends before under something as bright as this part of a bead over what lies beside it, from so far
past its end on."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundBeads(FoundPoints):
    """Suggested beads of a wire.

    Parameters
    ----------
    beads_px
        (row, column) of their middles in order along the wire, the upper end first, shape (N, 2), N >= 2.
    spacing_mm
        Mean step between them on the detector, millimetres; magnified, not the wire's own.
    diameter_mm
        Median diameter of their shadows on the detector.
    u_mm
        Standard uncertainty of each, a coordinate, shape (N,).
    confidence
        From 0 to 1: the smallest share of a bead's rim that is seen, the part the wire hides left out.
    trusted, findings, method, version
        See :class:`radlength.tracing.objects.FoundPoints`.
    """

    beads_px: FloatArray
    spacing_mm: float
    diameter_mm: float
    u_mm: FloatArray
    method: str = METHOD

    def points_px(self) -> FloatArray:
        """Return the beads, shape (N, 2), as the path of a reference beside the tooth takes them."""
        return self.beads_px.copy()


def find_beads(
    radiograph: Radiograph,
    click_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> FoundBeads:
    """Return the suggested beads of a straight wire, 0.6 to 2.4 mm wide, from one click on the wire or on a bead.

    Parameters
    ----------
    radiograph
        The image.
    click_px
        (row, column) pixels.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"bright"`` or ``"dark"`` metal; ``"auto"`` takes what the file says, and the other where that finds none.

    Notes
    -----
    The straight line through the click; the places where what lies just beside it is bright; on each the ellipse of its
    rim. Beads on the wire and alike in size are kept.

    Raises
    ------
    MarkError
        A click that is not on the image, no straight line there, or fewer than two beads on it.
    ImageError
        A stated size of a pixel that no detector has.

    Examples
    --------
    >>> rows, columns = np.mgrid[:600, :160]
    >>> thick = np.where((abs(columns - 80) < 6) & (rows > 60) & (rows < 540), 90, 0)
    >>> for row in (100, 300, 500):
    ...     thick = np.maximum(thick, np.where(np.hypot(rows - row, columns - 80) < 17, 160, 0))
    >>> image = Radiograph.from_array((50 + thick + rows % 3).astype(np.uint8), row_mm=0.03, column_mm=0.03)
    >>> beads = find_beads(image, (200, 81))
    >>> bool(abs(beads.beads_px - [(100, 80), (300, 80), (500, 80)]).max() < 0.3), round(beads.spacing_mm, 1)
    (True, 6.0)
    """
    side_mm, said = pixel_mm(radiograph, stated_pixel_mm)
    top = grey_ends(radiograph)[1]

    def look(grey: NDArray[np.generic], click: FloatArray) -> FoundBeads:
        line = line_through(grey, click * side_mm, side_mm)
        beads = () if line is None else _beads(grey, line, side_mm, top)
        if line is None or len(beads) < 2:
            raise nothing(
                radiograph, "wire with beads", "two round beads or more, 0.6 to 2.4 mm wide, on a wire"
            )
        return _found(grey, beads, line, side_mm, said)

    return looked_for(radiograph, click_px, polarity, look)


def _beads(grey: NDArray[np.generic], line: Line, side_mm: FloatArray, top: float) -> tuple[Shadow, ...]:
    """Return the beads of a line in order along it."""
    found: list[tuple[float, Shadow]] = []
    for along, radius in _candidates(grey, line, side_mm):
        if any(abs(along - other) < 1.5 * one.radius_mm for other, one in found):
            continue
        shadow = _bead(grey, line, along, radius, side_mm, top)
        if shadow is not None:
            place = float((shadow.centre_mm - line.foot_mm) @ line.way)
            if all(abs(place - other) > one.radius_mm for other, one in found):
                found.append((place, shadow))
    if not found:
        return ()
    usual = float(np.median([one.radius_mm for _, one in found]))
    alike = [pair for pair in found if abs(pair[1].radius_mm - usual) < ALIKE * usual]
    return tuple(shadow for _, shadow in sorted(alike, key=lambda pair: pair[0]))


def _candidates(grey: NDArray[np.generic], line: Line, side_mm: FloatArray) -> list[tuple[float, float]]:
    """Return places along a line and radii where discs beside it stand out most, the clearest first."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    along = steps(line.first_mm - 0.3, line.last_mm + 0.3, 0.05)
    across = steps(-2.2, 2.2, 0.05)
    strip = strip_along(grey, line.at(along), across, side_mm).astype(np.float64)
    away = np.abs(across)
    found = []
    for radius in TRIES_MM:
        ring = strip[:, (away > 1.3 * radius) & (away < 1.3 * radius + 0.3)].mean(axis=1)
        disc = strip[:, (away > 0.5 * radius) & (away < 0.8 * radius)].mean(axis=1) - ring
        height = gaussian_filter1d(disc, 0.4 * radius / 0.05, mode="nearest")
        rise = -gaussian_filter1d(height, radius / 0.05, order=2, mode="nearest") * (radius / 0.05) ** 2
        tops = np.flatnonzero((rise[1:-1] >= rise[:-2]) & (rise[1:-1] > rise[2:]) & (rise[1:-1] > 0)) + 1
        found += [(float(rise[top]), float(along[top]), radius) for top in tops]
    found.sort(key=lambda one: -one[0])
    return [(along_mm, radius) for _, along_mm, radius in found[:MOST]]


def _bead(
    grey: NDArray[np.generic], line: Line, along: float, radius: float, side_mm: FloatArray, top: float
) -> Shadow | None:
    """Return the bead near a place of a line, or None where there is none."""
    try:
        shadow = round_shadow(grey, line.at(np.array([along]))[0], radius, side_mm, top)
    except MarkError:
        return None
    away = shadow.centre_mm - line.foot_mm
    ok = (
        RADII_MM[0] <= shadow.radius_mm <= RADII_MM[1]
        and abs(float(away @ line.across)) < BESIDE_MM
        and abs(float(away @ line.way) - along) < 0.5
        and shadow.share >= LEAST_SHARE
        and shadow.contrast >= LEAST_CONTRAST
        and shadow.off_mm <= ROUGH_MM
        and shadow.ellipse.major < 1.25 * shadow.ellipse.minor
    )
    return shadow if ok else None


def _found(
    grey: NDArray[np.generic],
    beads: tuple[Shadow, ...],
    line: Line,
    side_mm: FloatArray,
    said: tuple[Finding, ...],
) -> FoundBeads:
    points = np.array([bead.centre_mm for bead in beads])
    if points[0, 0] > points[-1, 0]:
        points, beads = points[::-1], beads[::-1]
    gaps = np.hypot(*np.diff(points, axis=0).T)
    share = min(bead.share for bead in beads)
    doubts = _doubts(
        beads,
        gaps,
        share,
        _over(points, line),
        covered=_covered(grey, points, beads, line, side_mm),
        assumed=assumed_mm(side_mm, said),
    )
    return FoundBeads(
        beads_px=points / side_mm,
        spacing_mm=float(gaps.mean()),
        diameter_mm=float(np.median([2 * bead.radius_mm for bead in beads])),
        u_mm=np.array([bead.u_mm for bead in beads]),
        confidence=float(min(share / 0.8, 1.0)),
        trusted=not doubts,
        findings=(*said, *doubts),
    )


def _over(points: FloatArray, line: Line) -> float:
    """Return how far a line is seen past the first or the last of the beads on it, millimetres."""
    along = (points - line.foot_mm) @ line.way
    return float(max(along.min() - line.first_mm, line.last_mm - along.max()))


def _covered(
    grey: NDArray[np.generic],
    points: FloatArray,
    beads: tuple[Shadow, ...],
    line: Line,
    side_mm: FloatArray,
) -> bool:
    """Return whether from an end of the wire to where the next bead would lie all is as bright as a bead."""
    step = (points[-1] - points[0]) / (len(points) - 1)
    length = float(np.hypot(*step))
    along = (points - line.foot_mm) @ line.way
    for end, way in ((0, -step / length), (-1, step / length)):
        out = float(way @ line.way)
        over = line.last_mm - along[end] if out > 0 else along[end] - line.first_mm
        radius = beads[end].radius_mm
        places = points[end] + steps(max(over, radius) + PAST_MM, length, 0.05)[:, None] * way
        if len(places) < 2 or not inside(places, (grey.shape[0], grey.shape[1]), side_mm).all():
            continue
        across = 2 * radius * np.array([[-way[1], way[0]], [way[1], -way[0]]])
        own, beside = (
            float(np.median(sample(grey, one[None], side_mm)))
            for one in (points[end] + 0.5 * radius * rays(12), points[end] + across)
        )
        if sample(grey, places[None], side_mm).min() > beside + COVERED * (own - beside):
            return True
    return False


def _doubts(
    beads: tuple[Shadow, ...],
    gaps: FloatArray,
    share: float,
    over_mm: float,
    *,
    covered: bool = False,
    assumed: float | None = None,
) -> tuple[Finding, ...]:
    found = []
    hand = "Mark the beads by hand."
    count = "Count the beads; mark the hidden one, or measure between those seen."
    if over_mm > float(np.median(gaps)) - REACHES * max(bead.radius_mm for bead in beads):
        over = distance(over_mm, assumed_mm=assumed)
        words = f"The wire goes on for {over} past the last bead that was found: another may be hidden there."
        found.append(Finding("beads-end-hidden", words, count))
    elif covered:
        words = "Where the next bead would lie something is as bright as a bead: one may be hidden there."
        found.append(Finding("beads-end-hidden", words, count))
    if len(beads) < 3:
        words = "Only two beads were found, so that nothing tells whether one between them is missing."
        found.append(Finding("beads-two", words, "Count the beads between them."))
    elif gaps.max() - gaps.min() > EVEN * float(np.median(gaps)):
        least, most = (distance(float(one), 2, assumed_mm=assumed) for one in (gaps.min(), gaps.max()))
        words = f"The steps between the beads differ: {least} to {most}. One may be missing."
        found.append(Finding("beads-uneven", words, hand))
    if share < TRUSTED_SHARE:
        words = f"Of one bead only {100 * share:.0f} % of the rim is seen."
        found.append(Finding("beads-rim-hidden", words, hand))
    return tuple(found)
