"""Blank borders: a uniform region along the edge of the image, straight or round (cone cut, frame, padding)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.clean import figures
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Grey, Radiograph

LIMIT_PERCENT = 1.0
"""Of the image (common practice, no source)."""
SOURCE = "cone cut as a blank region with a straight or round boundary; limits: common practice, no source"
_LONGEST = 320
_FIT = 0.003
"""RMS distance of the boundary from the line or circle, as a share of the longer side."""
_TOUCH = 0.1
"""Least run along the edge of the image, as a share of the shorter side."""
_RADIUS = (0.3, 2.0)
"""Of a round beam, as a share of the longer side (common practice, no source)."""
_MOST = 0.75
"""Of the boundary that must lie on it."""
_LEAST_EDGE = 0.15
"""Length of the boundary, as a share of the shorter side."""
_TEXTURE = 0.015
"""SD inside the region as a share of the grey range in use."""

Shape = Literal["straight", "round"]
Mask = NDArray[np.bool_]
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class BlankBorder:
    """A blank region along the edge of the image.

    Parameters
    ----------
    mask
        The region on a smaller image, shape (rows / step, columns / step).
    step
        Pixels of the image for one of the mask.
    share
        Of the image, 0..1.
    shape
        Of the boundary.
    end
        Whether it is at the dark or the bright end of the stored values.
    """

    mask: Mask
    step: int
    share: float
    shape: Shape
    end: Literal["dark", "bright"]


def blank_border(stored: Grey, *, inverted: bool = False) -> BlankBorder | None:
    """Return the largest blank region along the edge of an image, or ``None``.

    Parameters
    ----------
    stored
        Stored values, shape (rows, columns).
    inverted
        Whether what stops the beam is stored dark (MONOCHROME1).

    Notes
    -----
    A candidate is near one end of the values, touches the edge, holds at least 1 % of the image, has hardly any
    texture, and its boundary inside the image is straight, or round at the unexposed end: anatomy that is burnt
    out has none such, and air around a body may look round.
    """
    import cv2

    step = max(1, max(stored.shape) // _LONGEST)
    small = cv2.resize(
        stored,
        (max(stored.shape[1] // step, 1), max(stored.shape[0] // step, 1)),
        interpolation=cv2.INTER_AREA,
    ).astype(np.float32)
    low, high = (float(value) for value in np.percentile(small, [0.2, 99.8]))
    if high <= low or min(small.shape) < 16:
        return None
    span = high - low
    found = [
        _largest(small, small <= low + 0.04 * span, step, "dark", span, may_be_round=inverted),
        _largest(small, small >= high - 0.04 * span, step, "bright", span, may_be_round=not inverted),
    ]
    return max((item for item in found if item), key=lambda item: item.share, default=None)


def _largest(
    small: NDArray[np.float32],
    near: Mask,
    step: int,
    end: Literal["dark", "bright"],
    span: float,
    *,
    may_be_round: bool,
) -> BlankBorder | None:
    import cv2

    count, labels, stats, _ = cv2.connectedComponentsWithStats(near.astype(np.uint8), connectivity=4)
    for index in np.argsort(-stats[1:, cv2.CC_STAT_AREA]) + 1 if count > 1 else ():
        mask = labels == index
        share = float(mask.mean())
        if 100 * share < LIMIT_PERCENT:
            return None
        core = cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
        if not core.any() or float(small[core].std()) > _TEXTURE * span or not _touches(mask):
            continue
        shape = _boundary_shape(mask)
        if shape == "straight" or (shape == "round" and may_be_round):
            return BlankBorder(mask, step, share, shape, end)
    return None


def _touches(mask: Mask) -> bool:
    sides = (mask[0], mask[-1], mask[:, 0], mask[:, -1])
    return bool(max(int(side.sum()) for side in sides) >= _TOUCH * min(mask.shape))


def _boundary_shape(mask: Mask) -> Shape | None:
    """Return what the boundary inside the image is, or ``None`` where it is neither straight nor round."""
    edge = _boundary(mask)
    if len(edge) < _LEAST_EDGE * min(mask.shape):
        return None
    scaled = edge / max(mask.shape)
    if _fits(scaled, _off_line):
        return "straight"
    return "round" if _fits(scaled, _off_circle) else None


def _fits(edge: Points, away: Callable[[Points, Points], Points | None]) -> bool:
    """Tell whether most of an edge lies on a line or circle, the worst quarter left out: a thing may touch it."""
    kept = edge
    for _ in range(6):
        distance = away(kept, edge)
        if distance is None:
            return False
        kept = edge[np.argsort(distance)[: max(int(_MOST * len(edge)), 4)]]
    distance = away(kept, edge)
    if distance is None:
        return False
    near = np.sort(distance)[: int(_MOST * len(edge))]
    return bool(len(near) > 0 and np.sqrt(np.mean(near**2)) < _FIT)


def _off_line(kept: Points, edge: Points) -> Points | None:
    middle = kept.mean(axis=0)
    across = np.linalg.svd(kept - middle, full_matrices=False)[2][1]
    return np.asarray(np.abs((edge - middle) @ across))


def _off_circle(kept: Points, edge: Points) -> Points | None:
    """Return distances from the circle x^2 + y^2 + a x + b y + c = 0 of least squares (Kasa 1976, from memory)."""
    left = np.column_stack([kept, np.ones(len(kept))])
    a, b, c = np.linalg.lstsq(left, -(kept**2).sum(axis=1), rcond=None)[0]
    radius2 = a * a / 4 + b * b / 4 - c
    if not _RADIUS[0] ** 2 <= radius2 <= _RADIUS[1] ** 2:
        return None
    return np.asarray(np.abs(np.hypot(edge[:, 0] + a / 2, edge[:, 1] + b / 2) - np.sqrt(radius2)))


def _boundary(mask: Mask) -> NDArray[np.float64]:
    inner = np.zeros_like(mask)
    change = mask[1:, :] != mask[:-1, :]
    inner[1:, :] |= change & mask[1:, :]
    inner[:-1, :] |= change & mask[:-1, :]
    change = mask[:, 1:] != mask[:, :-1]
    inner[:, 1:] |= change & mask[:, 1:]
    inner[:, :-1] |= change & mask[:, :-1]
    return np.argwhere(inner).astype(np.float64)


def cone_cut(radiograph: Radiograph) -> Measure:
    """Return the share of the image that is blank along its edge."""
    if min(radiograph.shape) < 32:
        return not_measured("cone_cut", "%", "The image is too small.", SOURCE)
    found = blank_border(radiograph.stored, inverted=radiograph.facts.photometric == "MONOCHROME1")
    if found is None:
        return Measure("cone_cut", 0.0, "%", "good", "No blank border was found.", SOURCE)
    share = 100 * found.share
    return Measure(
        "cone_cut",
        share,
        "%",
        "doubt",
        f"{figures(share)} % of the image is a blank region along its edge with a {found.shape} boundary: "
        "cone cut, a frame or padding.",
        SOURCE,
        "Check that tooth and apex are whole; take away a frame by exporting anew.",
    )


def distance_to_blank(found: BlankBorder | None, point_px: tuple[float, float]) -> float:
    """Return the distance in pixels from a point to the blank region, infinite without one."""
    if found is None:
        return float("inf")
    places = np.argwhere(found.mask) * found.step + (found.step - 1) / 2
    nearest = float(np.hypot(*(places - np.asarray(point_px)).T).min())
    return max(nearest - found.step / 2, 0.0)
