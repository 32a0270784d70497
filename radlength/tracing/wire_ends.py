"""Both ends of a straight wire or rod from one click on it, to a fraction of a pixel. Knows no scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.tracing.anchors import assumed_mm, pixel_mm
from radlength.tracing.distance import distance
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import grey_ends
from radlength.tracing.objects import FoundPoints, looked_for, nothing
from radlength.tracing.step import fit_step, places_looked_at
from radlength.tracing.straight import CORE_MM, Line, heights_of, line_through
from radlength.tracing.strip import inside, steps, strip_along

FloatArray = NDArray[np.float64]

METHOD = "wire ends"
SHORTEST_MM, LONGEST_MM = 3.0, 45.0
RIM_MM = 0.02
"""How well the edge that is seen tells the end: it depends on the tone curve and on what lies behind."""
TRUSTED_RATIO = 10.0
"""Step at an end over what the fit does not explain."""
LEAST, LIKE = 0.25, (0.5, 5.0)
"""Height that ends, as a share of the wire's usual height: what counts as an end, and what as a clear one."""
AFTER = (-0.35, 0.5)
"""Where less or more than these parts of the step are left after an end, something else changed there: past the rim of
a crown a line stands 0.47 below, past a wire or a rod 0.24 at most (140 ends on simulated images)."""
SIDES, SIDES_MM, NEXT_MM = 0.8, (0.3, 0.1), (0.2, 0.3)
"""Just before an end a wire stands out from what lies next to it by this part of its height, or by more: a cusp that
bulges behind a wire has no sides."""
FALLS, FALLS_MM = 0.1, (0.1, 0.3)
"""Where a wire ends, grey on its axis falls by a part of its height (0.23 at least, mostly 0.8 and more, on 130
simulated wires), seen this far before and behind; where something brighter hides the rest of it, it stays or rises."""
STRAIGHT_MM = 0.03
EVEN = 0.3
"""Height over one side as a part of that over the other: 0.6 and more for wires, below 0 for the edge of a crown."""
SEEN_SHARE = 0.8
CORE_WHITE = 0.6


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundWire(FoundPoints):
    """The suggested ends of a straight wire.

    Parameters
    ----------
    ends_px
        (row, column) of both ends, the upper one first, shape (2, 2).
    length_mm
        Distance between them on the detector, millimetres; magnified, not the wire's own.
    u_end_mm
        Standard uncertainty of each end along the wire, shape (2,).
    confidence
        From 0 to 1: how clearly the fainter of both ends is seen.
    trusted, findings, method, version
        See :class:`radlength.tracing.objects.FoundPoints`.
    """

    ends_px: FloatArray
    length_mm: float
    u_end_mm: FloatArray
    method: str = METHOD

    def points_px(self) -> FloatArray:
        """Return both ends, shape (2, 2), as the path of a reference beside the tooth takes them."""
        return self.ends_px.copy()


@dataclass(frozen=True, slots=True)
class _End:
    along_mm: float
    u_mm: float
    ratio: float
    like: float
    after: float
    sides: float
    falls: float
    white: float
    cut_off: bool


def find_wire_ends(
    radiograph: Radiograph,
    click_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> FoundWire:
    """Return the suggested ends of a straight wire or rod, 0.25 to 1.2 mm thick, from one click on it.

    Parameters
    ----------
    radiograph
        The image.
    click_px
        (row, column) pixels, on the wire or within half a millimetre of it.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"bright"`` or ``"dark"`` metal; ``"auto"`` takes what the file says, and the other where that finds none.

    Notes
    -----
    The straight line through the click, followed both ways until it ends; beads, crowns and fillings may hide it for up
    to 3 mm. At both ends the edge of its height over what lies beside is fitted, a Gaussian integral.

    Raises
    ------
    MarkError
        A click that is not on the image, or no straight line 3 to 45 mm long there.
    ImageError
        A stated size of a pixel that no detector has.

    Examples
    --------
    >>> rows, columns = np.mgrid[:400, :150]
    >>> wire = np.exp(-0.5 * ((columns - 70) / 4.0) ** 2) * np.clip(np.minimum(rows - 49.5, 320.5 - rows), 0, 1)
    >>> image = Radiograph.from_array((60 + 100 * wire + rows % 3).astype(np.uint8), row_mm=0.03, column_mm=0.03)
    >>> wire = find_wire_ends(image, (200, 72))
    >>> bool(abs(wire.ends_px - [(50, 70), (320, 70)]).max() < 1), wire.trusted
    (True, True)
    """
    side_mm, said = pixel_mm(radiograph, stated_pixel_mm)

    def look(grey: NDArray[np.generic], click: FloatArray) -> FoundWire:
        line = line_through(grey, click * side_mm, side_mm)
        if line is None or not SHORTEST_MM <= line.last_mm - line.first_mm <= LONGEST_MM:
            allowed = (
                f"a straight line {SHORTEST_MM:g} to {LONGEST_MM:g} mm long, at {side_mm[0]:.3g} mm a pixel"
            )
            raise nothing(radiograph, "wire", allowed)
        usual, even = _heights(grey, line, side_mm)
        if even < EVEN:
            raise nothing(radiograph, "wire", "a line that is darker on both sides: this is an edge")
        ends = [_end(radiograph, grey, line, way, usual, side_mm) for way in (-1, 1)]
        return _found(line, ends, side_mm, said)

    return looked_for(radiograph, click_px, polarity, look)


def _found(line: Line, ends: list[_End], side_mm: FloatArray, said: tuple[Finding, ...]) -> FoundWire:
    points = line.at(np.array([end.along_mm for end in ends]))
    doubts = _doubts(line, ends, assumed_mm(side_mm, said))
    order = np.lexsort((points[:, 1], points[:, 0]))
    ratio = min(end.ratio for end in ends)
    return FoundWire(
        ends_px=points[order] / side_mm,
        length_mm=float(np.hypot(*(points[1] - points[0]))),
        u_end_mm=np.array([ends[one].u_mm for one in order]),
        confidence=float(np.clip(1 - np.exp(-ratio / 4), 0, 1)) * line.seen,
        trusted=not doubts,
        findings=(*said, *doubts),
    )


def _end(
    radiograph: Radiograph, grey: NDArray[np.generic], line: Line, way: int, usual: float, side_mm: FloatArray
) -> _End:
    """Return the end of a line in one direction, 1 toward `last_mm`, -1 toward `first_mm`."""
    guess = line.last_mm if way > 0 else line.first_mm
    at = places_looked_at()
    points = line.at(guess + way * at)
    across = steps(-2.5, 2.5, 0.04)
    strip = strip_along(grey, points, across, side_mm)
    core, height = heights_of(strip, across, line.width_mm)
    usual = max(usual, 1e-9)
    step = fit_step(height, LEAST * usual)
    middle = strip_along(radiograph.stored, points, steps(-CORE_MM, CORE_MM, 0.04), side_mm)
    low, high = grey_ends(radiograph)
    near = np.abs(at - step.place_mm) < 0.3
    ahead = line.at(np.array([guess + way * (step.place_mm + 0.3)]))
    return _End(
        along_mm=guess + way * step.place_mm,
        u_mm=float(np.hypot(step.u_mm, RIM_MM)),
        ratio=step.ratio,
        like=step.height / usual,
        after=step.after,
        sides=_sides(
            strip, across, (at > step.place_mm - SIDES_MM[0]) & (at < step.place_mm - SIDES_MM[1]), line
        ),
        falls=_falls(core, at - step.place_mm) / max(step.height, 1e-9),
        white=float(((middle[near] <= low) | (middle[near] >= high)).mean()),
        cut_off=not bool(inside(ahead, (grey.shape[0], grey.shape[1]), side_mm).all()),
    )


def _sides(strip: NDArray[np.floating], across: FloatArray, rows: NDArray[np.bool_], line: Line) -> float:
    """Return the height over what lies next to the sides of a line, as a part of that over its surroundings."""
    core, height = heights_of(strip[rows], across, line.width_mm)
    near = np.abs(across) - line.width_mm
    beside = strip[rows][:, (near >= NEXT_MM[0]) & (near <= NEXT_MM[1])].mean(axis=1)
    return float((core - beside).mean() / max(float(height.mean()), 1e-9))


def _falls(core: FloatArray, beyond: FloatArray) -> float:
    """Return by how much grey on a line's axis is lower just behind its end than just before it."""
    before, behind = (
        core[(way * beyond > FALLS_MM[0] - 1e-9) & (way * beyond < FALLS_MM[1] + 1e-9)].mean()
        for way in (-1, 1)
    )
    return float(before - behind)


def _heights(grey: NDArray[np.generic], line: Line, side_mm: FloatArray) -> tuple[float, float]:
    """Return the median height of a line, and that over its higher side as a part of that over its lower one."""
    across = steps(-2.5, 2.5, 0.04)
    strip = strip_along(grey, line.at(steps(line.first_mm, line.last_mm, 0.1)), across, side_mm)
    left, right = (
        heights_of(strip[:, here], across[here], line.width_mm)[1] for here in (across <= 0.1, across >= -0.1)
    )
    lower, higher = (float(np.median(pick(left, right))) for pick in (np.minimum, np.maximum))
    return (lower + higher) / 2, lower / max(higher, 1e-9)


def _doubts(line: Line, ends: list[_End], assumed: float | None = None) -> tuple[Finding, ...]:
    found = []
    hand = "Mark its ends by hand."
    if line.off_mm > STRAIGHT_MM:
        words = f"The line strays by {distance(line.off_mm, 2, assumed_mm=assumed)} from a straight one."
        found.append(Finding("wire-not-straight", words, hand))
    if line.seen < SEEN_SHARE:
        words = f"The wire is seen on only {100 * line.seen:.0f} % of its length; the rest is hidden."
        found.append(Finding("wire-hidden", words, hand))
    if any(end.cut_off for end in ends):
        found.append(
            Finding("wire-cut-off", "The wire runs to the edge of the image.", "Use another reference.")
        )
    if any(end.white > CORE_WHITE for end in ends):
        found.append(
            Finding(
                "wire-saturated", "An end of the wire lies where the image is white without detail.", hand
            )
        )
    elif not all(_clear(end) for end in ends):
        found.append(
            Finding("wire-end-unclear", "An end of the wire is not clearly seen: it fades or goes on.", hand)
        )
    return tuple(found)


def _clear(end: _End) -> bool:
    """Return whether a wire as high as this one, and nothing else, ends there."""
    like = LIKE[0] <= end.like <= LIKE[1]
    alone = end.sides >= SIDES and end.falls >= FALLS
    return like and alone and end.ratio >= TRUSTED_RATIO and AFTER[0] <= end.after <= AFTER[1]
