"""Grey profiles across a thin bright or dark thing along a marked path, straightened and centred."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.geometry import Curve, fit_curve
from radlength.imaging.radiograph import Grey

FloatArray = NDArray[np.float64]
STEP_PX = 0.5
"""Distance of samples across, in pixels."""
_WINDOW_PX = 11.0


@dataclass(frozen=True, slots=True, eq=False)
class Across:
    """Profiles across a path.

    Parameters
    ----------
    offsets_px
        Distance from the centre line, shape (K,).
    grey
        Grey values, shape (N, K), bright thing on darker ground whichever way it is stored.
    along_px
        Distance of each profile from the first point along the path, shape (N,).
    centres_px
        Distance of the thing's centre from the marked path before centring, shape (N,).
    sign
        1 where the thing is stored bright, -1 where it is stored dark.
    """

    offsets_px: FloatArray
    grey: FloatArray
    along_px: FloatArray
    centres_px: FloatArray
    sign: int


def across(
    stored: Grey,
    path_px: ArrayLike,
    *,
    half_px: float = 24.0,
    wander_px: float = 8.0,
    keep: slice | None = None,
) -> Across | None:
    """Return profiles across a path, moved so that each thing's centre lies at 0.

    Parameters
    ----------
    stored
        Stored values, shape (rows, columns).
    path_px
        (row, column) points, shape (M, 2).
    half_px
        How far the profiles go to each side.
    wander_px
        How far the thing may lie beside the path.
    keep
        Profiles to keep, of those one pixel apart.

    Returns
    -------
    Across or None
        ``None`` where fewer than 24 whole profiles lie inside the image.
    """
    curve = fit_curve(path_px)
    along = np.arange(0.0, curve.length, 1.0)[keep or slice(None)]
    if len(along) < 24:
        return None
    points, normals = _frame(curve, along)
    reach = half_px + wander_px
    wide = np.arange(-reach, reach + STEP_PX / 2, STEP_PX)
    inside = _inside(points, normals, reach, stored.shape)
    if inside.sum() < 24:
        return None
    points, normals, along = points[inside], normals[inside], along[inside]
    grey = _sampled(stored, points, normals, wide)
    sign, centres = _centres(grey, wide, wander_px, along)
    offsets = np.arange(-half_px, half_px + STEP_PX / 2, STEP_PX)
    moved = sign * _sampled(stored, points + centres[:, None] * normals, normals, offsets)
    return Across(offsets, moved, along, centres, sign)


def _frame(curve: Curve, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return points at distances along a curve and unit vectors across it, each (N, 2)."""
    t = np.linspace(0, 1, max(int(2 * curve.length), 8))
    speed = np.linalg.norm(curve.velocity(t), axis=1)
    run = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(t))])
    at = np.interp(along, run, t)
    tangents = curve.tangent(at)
    return curve.points(at), np.column_stack([-tangents[:, 1], tangents[:, 0]])


def _inside(
    points: FloatArray, normals: FloatArray, reach: float, shape: tuple[int, ...]
) -> NDArray[np.bool_]:
    limits = np.asarray(shape[:2], dtype=np.float64) - 2
    ends = np.stack([points - reach * normals, points + reach * normals])
    return np.asarray(np.all((ends >= 1) & (ends <= limits), axis=(0, 2)))


def _sampled(stored: Grey, points: FloatArray, normals: FloatArray, offsets: FloatArray) -> FloatArray:
    import cv2

    places = (points[:, None, :] + offsets[None, :, None] * normals[:, None, :]).astype(np.float32)
    low = np.maximum(np.floor(places.min(axis=(0, 1))).astype(int) - 4, 0)
    high = np.ceil(places.max(axis=(0, 1))).astype(int) + 5
    part = np.ascontiguousarray(stored[low[0] : high[0], low[1] : high[1]], dtype=np.float32)
    where = places - low.astype(np.float32)
    grey = cv2.remap(part, where[..., 1], where[..., 0], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(grey, dtype=np.float64)


def _centres(
    grey: FloatArray, offsets: FloatArray, wander_px: float, along: FloatArray
) -> tuple[int, FloatArray]:
    """Return whether the thing is bright, and a smooth line of its centres."""
    import cv2

    even = grey - np.median(grey, axis=1, keepdims=True)
    near = np.abs(offsets) <= wander_px
    smooth = cv2.blur(even, (9, 15))
    central = smooth[:, near]
    strength = np.median(central.max(axis=1)), np.median(-central.min(axis=1))
    sign = 1 if strength[0] >= strength[1] else -1
    raw = _middles(np.clip(sign * smooth, 0, None), offsets, near)
    scaled = (along - along.mean()) / max(float(np.ptp(along)), 1.0)
    degree = 4
    keep = np.ones(len(raw), dtype=bool)
    line = raw
    for _ in range(3):
        line = np.polynomial.polynomial.polyval(
            scaled, np.polynomial.polynomial.polyfit(scaled[keep], raw[keep], degree)
        )
        away = np.abs(raw - line)
        keep = away <= max(3 * float(np.median(away)), 0.2)
    return sign, np.clip(line, -wander_px, wander_px)


def _middles(lifted: FloatArray, offsets: FloatArray, near: NDArray[np.bool_]) -> FloatArray:
    """Return the middle of the highest thing in each profile: a centroid in a window that moves onto it."""
    middles = offsets[near][lifted[:, near].argmax(axis=1)]
    peak = lifted[:, near].max(axis=1, keepdims=True)
    above = np.clip(lifted - 0.5 * peak, 0, None)
    for _ in range(4):
        weight = above * (np.abs(offsets - middles[:, None]) <= _WINDOW_PX)
        total = weight.sum(axis=1)
        middles = np.where(total > 0, (weight @ offsets) / np.maximum(total, 1e-9), middles)
    return np.asarray(middles)


def in_segments(profiles: Across, count: int) -> tuple[FloatArray, FloatArray]:
    """Return the median profile of each of `count` stretches, shape (count, K), and where each lies along, (count,).

    The median, so that a bead or a mark on a wire does not count.
    """
    parts = np.array_split(np.arange(len(profiles.along_px)), count)
    middles = np.stack([np.median(profiles.grey[part], axis=0) for part in parts])
    return middles, np.array([profiles.along_px[part].mean() for part in parts])
