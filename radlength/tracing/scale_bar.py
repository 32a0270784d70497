"""A scale bar drawn into a picture, from one click on it: its ends to a fraction of a pixel. Reads no text."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry import Assist
from radlength.imaging import Radiograph
from radlength.tracing.instrument_clicks import check_click
from radlength.tracing.objects import VERSION

FloatArray = NDArray[np.float64]

METHOD = "scale bar"
LEAST_PX, MOST_THICK_PX = 20, 200
LONGER = 4.0
"""A bar is at least this many times as long as thick."""
FULL, WHOLE = 0.8, 0.95
"""Share of its box that a bar fills; less than the second is told."""
TOLERANCE, LEAST_TOLERANCE = 0.25, 8.0
"""Grey of one bar: within this part of the contrast round the click."""
AROUND_PX = 60
SNAP_PX = 3
END_PX = 8
"""How far beyond an end its surroundings are seen."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundBar:
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
        From 0 to 1: the share of its box that it fills.
    trusted
        Whether nothing speaks against it.
    findings
        What does.
    method, version
        How it was made.
    """

    ends_px: FloatArray
    length_px: float
    thickness_px: float
    u_end_px: float
    confidence: float
    trusted: bool
    findings: tuple[Finding, ...]
    method: str = METHOD
    version: str = VERSION

    def points_px(self) -> FloatArray:
        """Return both ends, shape (2, 2)."""
        return self.ends_px.copy()

    def assist(self) -> Assist:
        """Return what a record says of :meth:`points_px`: both were placed by this program."""
        return Assist(0, 1, self.method, self.version, self.confidence)


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
    What hangs together with the click and has its grey; its box must be long, thin and filled. Each end is where the mean
    grey across the bar falls to half of the step, between two pixels. What length it stands for is written beside it
    and is not read.

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
    grey = radiograph.stored
    row, column, level = _seed(grey, click)
    mask = _alike(grey, row, column, level)
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    box = (int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1)
    upright = box[1] - box[0] > box[3] - box[2]
    if upright:
        mask, grey, box = mask.T, grey.T, (box[2], box[3], box[0], box[1])
    _check(radiograph, mask, box)
    ends, rough = _ends(grey, mask, box)
    full = float(mask[box[0] : box[1], box[2] : box[3]].mean())
    doubts = _doubts(full, rough, box, grey.shape)
    middle = _middle(mask, box)
    points = np.array([[middle, ends[0]], [middle, ends[1]]])
    return FoundBar(
        ends_px=points[:, ::-1] if upright else points,
        length_px=float(ends[1] - ends[0]),
        thickness_px=float(np.median(mask[:, box[2] : box[3]].sum(axis=0))),
        u_end_px=0.5 / np.sqrt(3) if rough > 0.3 else 0.1,
        confidence=min(full, 1.0),
        trusted=not doubts,
        findings=doubts,
    )


def _seed(grey: NDArray[np.generic], click: FloatArray) -> tuple[int, int, float]:
    """Return the pixel near a click whose grey differs most from what is usual around, and the tolerance."""
    row, column = (int(round(float(at))) for at in click)
    top, left = max(row - AROUND_PX, 0), max(column - AROUND_PX, 0)
    around = grey[top : row + AROUND_PX + 1, left : column + AROUND_PX + 1].astype(np.float64)
    usual, contrast = float(np.median(around)), float(np.ptp(around))
    near = grey[max(row - SNAP_PX, 0) : row + SNAP_PX + 1, max(column - SNAP_PX, 0) : column + SNAP_PX + 1]
    odd = np.abs(near.astype(np.float64) - usual)
    own = abs(float(grey[row, column]) - usual)
    if own < 0.5 * odd.max():
        at = np.unravel_index(int(odd.argmax()), odd.shape)
        row, column = max(row - SNAP_PX, 0) + int(at[0]), max(column - SNAP_PX, 0) + int(at[1])
    return row, column, max(TOLERANCE * contrast, LEAST_TOLERANCE)


def _alike(grey: NDArray[np.generic], row: int, column: int, tolerance: float) -> NDArray[np.bool_]:
    """Return what hangs together with a pixel and has its grey, the shape of the image; each pixel is seen once."""
    import cv2  # noqa: PLC0415

    seed = float(grey[row, column])
    inner = (np.abs(grey.astype(np.float32) - seed) <= tolerance).astype(np.uint8)
    mask = np.zeros((grey.shape[0] + 2, grey.shape[1] + 2), np.uint8)
    cv2.floodFill(inner, mask, (column, row), 2)
    return np.asarray(inner == 2)


def _check(radiograph: Radiograph, mask: NDArray[np.bool_], box: tuple[int, int, int, int]) -> None:
    thick, length = box[1] - box[0], box[3] - box[2]
    full = float(mask[box[0] : box[1], box[2] : box[3]].mean())
    if length < LEAST_PX or thick > MOST_THICK_PX or length < LONGER * thick or full < FULL:
        raise MarkError(
            f"no scale bar at the click: what has its grey is {length} by {thick} pixels and {100 * full:.0f} % filled",
            f"a filled bar along rows or columns, {LEAST_PX} pixels or longer and {LONGER:g} times as long as thick",
            "click on the bar, or mark its ends by hand",
            code="no-such-object",
            subject=radiograph.name,
        )


def _middle(mask: NDArray[np.bool_], box: tuple[int, int, int, int]) -> float:
    part = mask[box[0] : box[1], box[2] : box[3]].sum(axis=1)
    return float(box[0] + (np.arange(len(part)) * part).sum() / part.sum())


def _ends(
    grey: NDArray[np.generic], mask: NDArray[np.bool_], box: tuple[int, int, int, int]
) -> tuple[tuple[float, float], float]:
    """Return where grey falls to half of the step at both ends, and the larger share of the step not told apart."""
    filled = mask[box[0] : box[1], box[2] : box[3]].mean(axis=1) > 0.5
    low, high = max(box[2] - END_PX, 0), min(box[3] + END_PX, grey.shape[1])
    profile = grey[box[0] : box[1], low:high][filled].astype(np.float64).mean(axis=0)
    inner = float(np.median(profile[box[2] - low : box[3] - low]))
    found, rough = [], 0.0
    for first, way in ((box[2] - low, -1), (box[3] - 1 - low, 1)):
        outer = profile[:first][: END_PX // 2 + 1] if way < 0 else profile[first + 1 :][-END_PX // 2 :]
        if not outer.size:
            found.append(float(low + first))
            rough = 1.0
            continue
        step = inner - float(np.median(outer))
        share = (profile - float(np.median(outer))) / step if step else np.zeros_like(profile)
        at = first - 2 * way
        while 0 <= at + way < len(share) and share[at] >= 0.5:
            at += way
        before = share[at - way]
        part = (before - 0.5) / (before - share[at]) if before > share[at] else 0.0
        found.append(low + at - way + way * float(np.clip(part, 0, 1)))
        rough = max(rough, float(np.ptp(outer)) / max(abs(step), 1e-9))
    return (found[0], found[1]), rough


def _doubts(
    full: float, rough: float, box: tuple[int, int, int, int], shape: tuple[int, ...]
) -> tuple[Finding, ...]:
    found = []
    hand = "Look at its ends, and mark them by hand if they are wrong."
    if full < WHOLE:
        words = (
            f"The bar fills only {100 * full:.0f} % of its box: it has ticks, or something else touches it."
        )
        found.append(Finding("bar-not-whole", words, hand))
    if box[2] == 0 or box[3] == shape[1]:
        found.append(Finding("bar-cut-off", "The bar runs to the edge of the picture.", hand))
    elif rough > 0.5:
        words = "What lies beyond an end of the bar is too uneven to tell where it stops."
        found.append(Finding("bar-end-unclear", words, hand))
    return tuple(found)
