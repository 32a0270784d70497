"""A scale bar drawn into a picture, from one click on it: its ends to a fraction of a pixel. Reads no text."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.tracing.bar_parts import Part, goes_on, other_half, part_at
from radlength.tracing.instrument_clicks import check_click
from radlength.tracing.objects import FoundPoints, nothing

FloatArray = NDArray[np.float64]

METHOD = "scale bar"
LEAST_PX, MOST_THICK_PX = 20, 200
LONGER = 3.0
"""A bar is at least this many times as long as thick."""
END_PX = 4
"""How far beyond an end its surroundings are seen: a frame may be drawn round the bar."""
UNEVEN = 0.5
"""Two pixels beyond an end grey may still differ by this part of the step, unless the first is a thin outline."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundBar(FoundPoints):
    """A suggested scale bar.

    Parameters
    ----------
    ends_px
        (row, column) of both ends on its middle line, the upper or left one first, shape (2, 2).
    length_px, thickness_px
        Its length and thickness in pixels; along the rows or along the columns, as it lies.
    u_end_px
        Standard uncertainty of each end.
    confidence
        1 for a plain bar or one with a tick at both ends, less where an end is not clear.
    trusted, findings, method, version
        See :class:`radlength.tracing.objects.FoundPoints`.
    """

    ends_px: FloatArray
    length_px: float
    thickness_px: float
    u_end_px: float
    method: str = METHOD

    def points_px(self) -> FloatArray:
        """Return both ends, shape (2, 2)."""
        return self.ends_px.copy()


def find_scale_bar(radiograph: Radiograph, click_px: ArrayLike) -> FoundBar:
    """Return the suggested ends of a bar drawn along the rows or columns of a picture, bright or dark.

    Parameters
    ----------
    radiograph
        The picture.
    click_px
        (row, column) pixels, on the bar or within 3 pixels of it.

    Notes
    -----
    What hangs together with the click and has its grey must be one long run, with ticks at both ends or none. A bar
    that its own text interrupts has one tick; the other half is looked for in the same rows. Each end is where the mean
    grey across the bar falls to half of the step, between two pixels. A bar of several pieces, black and white by turns
    or with its text between, is questioned. What length it stands for is written beside it and is not read.

    Raises
    ------
    MarkError
        A click that is not on the picture, or no bar there.

    Examples
    --------
    >>> picture = np.full((80, 300), 30, np.uint8)
    >>> picture[40:46, 50:250] = 255
    >>> bar = find_scale_bar(Radiograph.from_array(picture), (42, 100))
    >>> bar.ends_px.tolist(), bar.length_px, bar.trusted
    ([[42.5, 49.5], [42.5, 249.5]], 200.0, True)
    """
    click = check_click(radiograph, click_px)
    for upright in (False, True):
        grey = radiograph.stored.T if upright else radiograph.stored
        part = part_at(grey, click[::-1] if upright else click)
        if part is not None and _is_bar(part, grey.shape[1]):
            return _bar(grey, part, upright=upright)
    allowed = (
        f"a filled bar along rows or columns, {LEAST_PX} pixels or longer, with a tick at both ends or none"
    )
    raise nothing(radiograph, "scale bar", allowed)


def _is_bar(part: Part, columns: int) -> bool:
    """Return whether a run is long, thin, and not a whole row of the picture."""
    long = columns > part.length >= max(LEAST_PX, LONGER * part.thickness)
    return long and part.thickness <= MOST_THICK_PX


def _bar(grey: NDArray[np.generic], part: Part, *, upright: bool) -> FoundBar:
    half = part.left_tick != part.right_tick
    other = other_half(grey, part) if half else None
    first, last = (other, part) if other is not None and other.start < part.start else (part, other or part)
    ends, rough = _end(grey, first, first.start, -1), _end(grey, last, last.stop - 1, 1)
    points = np.array(
        [[(first.top + first.bottom - 1) / 2, ends[0]], [(last.top + last.bottom - 1) / 2, rough[0]]]
    )
    uneven = max(ends[1], rough[1])
    open_ends = ((first, -1, first.left_tick), (last, 1, last.right_tick))
    piece = any(goes_on(grey, one, way) for one, way, tick in open_ends if not tick)
    doubts = _doubts(first, last, uneven, grey.shape[1], half=half, alone=other is None, piece=piece)
    return FoundBar(
        ends_px=points[:, ::-1] if upright else points,
        length_px=float(points[1, 1] - points[0, 1]),
        thickness_px=float(part.thickness),
        u_end_px=0.1 if uneven < 0.1 else 0.5 / 3**0.5,
        confidence=float(np.clip(1 - uneven, 0, 1)) * (0.3 if piece or (half and other is None) else 1.0),
        trusted=all(one.severity == "note" for one in doubts),
        findings=doubts,
    )


def _end(grey: NDArray[np.generic], part: Part, last: int, way: int) -> tuple[float, float]:
    """Return where grey falls to half of the step beyond the last column of a part, and how uneven it is there."""
    rows = grey[part.top : part.bottom].astype(np.float64)
    inner = float(np.median(rows[:, part.start : part.stop].mean(axis=0)))
    beyond = np.arange(last + way, last + way * (END_PX + 1), way)
    beyond = beyond[(beyond >= 0) & (beyond < grey.shape[1])]
    if not len(beyond):
        return float(last), 1.0
    outer = rows[:, beyond].mean(axis=0)
    far = float(outer[np.abs(outer - inner).argmax()])
    if inner == far:
        return float(last), 1.0
    around = np.concatenate([[last - way, last], beyond]).astype(int)
    share = (rows[:, np.clip(around, 0, grey.shape[1] - 1)].mean(axis=0) - far) / (inner - far)
    below = np.flatnonzero(share < 0.5)
    at = int(below[0]) if below.size else 0
    if at == 0:
        return float(last), 1.0
    part_px = (share[at - 1] - 0.5) / (share[at - 1] - share[at])
    outlined = int(np.abs(outer - inner).argmax()) == 0
    uneven = 0.0 if outlined else float(abs(outer[min(1, len(outer) - 1)] - far) / abs(inner - far))
    return float(around[at - 1] + way * part_px), uneven


def _doubts(
    first: Part, last: Part, uneven: float, columns: int, *, half: bool, alone: bool, piece: bool
) -> tuple[Finding, ...]:
    found = []
    hand = "Look at its ends, and mark them by hand if they are wrong."
    if half and alone:
        words = "The bar has a tick at one end only: it may be half of one that its text interrupts."
        found.append(Finding("bar-half", words, hand))
    elif half:
        words = "The bar was put together from two parts with its text between."
        found.append(Finding("bar-two-parts", words, hand, "note"))
    if piece:
        words = "Beyond an end another piece follows in the same rows: this may be a piece of the bar only."
        found.append(Finding("bar-piece", words, hand))
    if first.start == 0 or last.stop == columns:
        found.append(Finding("bar-cut-off", "The bar runs to the edge of the picture.", hand))
    elif uneven > UNEVEN:
        words = "What lies beyond an end of the bar is too uneven to tell where it stops."
        found.append(Finding("bar-end-unclear", words, hand))
    return tuple(found)
